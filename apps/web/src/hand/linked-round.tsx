/** The round of a mail link: no sign-in, one warehouse, one month, one person. Opening it changes nothing. */
import { type ReactNode, useCallback, useEffect, useState } from 'react'
import { type Round, RoundLines } from './round.js'
import { ask } from './server.js'

const HEADER = 'x-round-link'

export function LinkedRound(): ReactNode {
  const secret = decodeURIComponent(location.hash.replace(/^#round=/, ''))
  const [round, setRound] = useState<Round | null>(null)
  const [fault, setFault] = useState('')
  const headers = { [HEADER]: secret }
  const load = useCallback(async () => {
    try {
      setRound(await ask<Round>('GET', '/api/v1/linked-round', undefined, { [HEADER]: secret }))
    } catch (error) {
      setFault((error as Error).message)
    }
  }, [secret])
  useEffect(() => void load(), [load])
  const act = async (doing: () => Promise<unknown>): Promise<void> => {
    setFault('')
    try {
      await doing()
      await load()
    } catch (error) {
      setFault((error as Error).message)
    }
  }
  if (!round)
    return (
      <main className="hand" aria-busy={fault === ''}>
        {fault ? (
          <p className="note alarmed" role="alert">
            {fault} Ask for a new link, or sign in: <a href="/hand.html">on-site pages</a>.
          </p>
        ) : null}
      </main>
    )
  return (
    <main className="hand">
      <RoundLines
        round={round}
        age=""
        fault={fault}
        keptFor={new Map()}
        onAcknowledge={() =>
          act(() =>
            ask(
              'POST',
              '/api/v1/linked-round/acknowledgements',
              { entryId: crypto.randomUUID(), statement: round.acknowledgement },
              headers,
            ),
          )
        }
        onAnswer={(machineId, outcome, reason) =>
          act(() =>
            ask(
              'POST',
              '/api/v1/linked-round/answers',
              { entryId: crypto.randomUUID(), machineId, outcome, ...(reason ? { reason } : {}), madeAt: new Date().toISOString() },
              headers,
            ),
          )
        }
        onUndo={(entryId) => act(() => ask('POST', `/api/v1/linked-round/answers/${entryId}/undo`, {}, headers))}
      />
    </main>
  )
}
