/** The round of a mail link: no sign-in, one warehouse, one month, one person. Opening it changes nothing. */
import { type ReactNode, useEffect, useState } from 'react'
import { serverNow } from '../client/clock.js'
import { HandHeading } from './heading.js'
import { Kept } from './kept-bar.js'
import type { Keeping } from './kept.js'
import { RoundLines } from './round.js'
import { layAnswersOver, type Round } from './round-overlay.js'
import { instantNow } from './outbox.js'
import { ask, LINK_HEADER } from './server.js'

/** keeping: absent where this browser lets nothing be kept; then each answer needs the network. */
export function LinkedRound({ keeping }: { keeping?: Keeping }): ReactNode {
  const secret = decodeURIComponent(location.hash.replace(/^#round=/, ''))
  const headers = { [LINK_HEADER]: secret }
  const [page, setPage] = useState<{ round: Round; at: string } | null>(null)
  const [fault, setFault] = useState('')
  const saved = keeping?.savedRounds ?? 0
  const [asked, setAsked] = useState(0)
  useEffect(() => {
    const at = instantNow()
    ask<Round>('GET', '/api/v1/linked-round', undefined, { [LINK_HEADER]: secret }).then(
      (round) => setPage({ round, at }),
      (error: Error) => setFault(error.message),
    )
  }, [secret, saved, asked])
  const act = async (doing: () => Promise<unknown>): Promise<void> => {
    setFault('')
    try {
      await doing()
      setAsked(asked + 1)
    } catch (error) {
      setFault((error as Error).message)
    }
  }
  if (!page) return <NotOpened fault={fault} />
  const { round } = page
  const mine = keeping?.notIn(page.at).filter(({ kind, secret: other }) => kind === 'linked_round' && other === secret) ?? []
  const answer = async (machineId: string, outcome: 'done' | 'not_done', reason?: string): Promise<void> => {
    const body = { machineId, outcome, ...(reason ? { reason } : {}), madeAt: serverNow() }
    if (keeping) return keeping.keep({ kind: 'linked_round', secret, body })
    await act(() => ask('POST', '/api/v1/linked-round/answers', { ...body, entryId: crypto.randomUUID() }, headers))
  }
  const undo = async (entryId: string): Promise<void> => {
    if (await keeping?.takeBack(entryId)) return
    await act(() => ask('POST', `/api/v1/linked-round/answers/${entryId}/undo`, {}, headers))
  }
  const acknowledge = (): Promise<void> =>
    act(() =>
      ask('POST', '/api/v1/linked-round/acknowledgements', { entryId: crypto.randomUUID(), statement: round.acknowledgement }, headers),
    )
  return (
    <main className="hand">
      {keeping ? <Kept keeping={keeping} home={false} /> : null}
      <RoundLines round={layAnswersOver(round, mine)} age="" fault={fault} onAcknowledge={acknowledge} onAnswer={answer} onUndo={undo} />
    </main>
  )
}

function NotOpened({ fault }: { fault: string }): ReactNode {
  return (
    <main className="hand" aria-busy={fault === ''}>
      {fault ? (
        <>
          <HandHeading title="Round">Round</HandHeading>
          <p className="note alarmed" role="alert">
            {fault} Ask for a new link, or sign in: <a href="/hand.html">on-site pages</a>.
          </p>
        </>
      ) : (
        <div className="bone" />
      )}
    </main>
  )
}
