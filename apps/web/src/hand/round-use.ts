/** One warehouse's round of this month with what is only on this phone laid over it, and what can be done with it. */
import { useState } from 'react'
import { useKeeping, usePage, type Page } from './kept.js'
import type { KeptEntry } from './outbox.js'
import { layAnswersOver, type Round } from './round-overlay.js'
import { ask } from './server.js'

const ACKNOWLEDGE = '/api/v1/rounds/acknowledgements'
export const roundPath = (warehouseId: string): string => `/api/v1/rounds?warehouseId=${warehouseId}`

export interface RoundActs {
  onAcknowledge: () => Promise<void>
  onAnswer: (machineId: string, outcome: 'done' | 'not_done', reason?: string) => Promise<void>
  onUndo: (entryId: string) => Promise<void>
}
export type RoundUse = RoundActs & { page: Page<Round>; round: Round | null; fault: string }

export function useRound(warehouseId: string): RoundUse {
  const page = usePage<Round>(roundPath(warehouseId))
  const keeping = useKeeping()
  const [fault, setFault] = useState('')
  const common = { warehouseId, month: page.data?.month }
  return {
    page,
    fault,
    round: page.data && withKept(page.data, keeping.notIn(page.at), warehouseId),
    onAcknowledge: () =>
      keeping.keep({
        kind: 'post',
        path: ACKNOWLEDGE,
        body: { ...common, entryId: crypto.randomUUID(), statement: page.data?.acknowledgement },
      }),
    onAnswer: (machineId, outcome, reason) =>
      keeping.keep({ kind: 'round', body: { ...common, machineId, outcome, ...(reason ? { reason } : {}) } }),
    async onUndo(entryId) {
      setFault('')
      try {
        if (!(await keeping.takeBack(entryId))) await ask('POST', `/api/v1/rounds/answers/${entryId}/undo`, {})
      } catch (error) {
        setFault((error as Error).message)
      }
      page.again()
    },
  }
}

/** The round with what is only on this phone laid over it. */
function withKept(round: Round, entries: readonly KeptEntry[], warehouseId: string): Round {
  const mine = entries.filter(({ body }) => body.warehouseId === warehouseId)
  const read = mine.some(({ kind, path }) => kind === 'post' && path === ACKNOWLEDGE)
  return layAnswersOver(
    { ...round, acknowledged: round.acknowledged ?? (read || null) },
    mine.filter(({ kind }) => kind === 'round'),
  )
}
