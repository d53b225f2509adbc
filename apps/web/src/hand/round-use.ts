/** One warehouse's round of this month with what is only on this phone laid over it, and what can be done with it. */
import { serverNow } from '../client/clock.js'
import { wallOf } from '../ui/wall-time.js'
import { useKeeping, usePage, type Page } from './kept.js'
import { ACKNOWLEDGE, inMonth, layRoundOver, type Round, undoPath } from './round-overlay.js'

export const roundPath = (warehouseId: string): string => `/api/v1/rounds?warehouseId=${warehouseId}`

export interface RoundActs {
  onAcknowledge: () => Promise<void>
  onAnswer: (machineId: string, outcome: 'done' | 'not_done', reason?: string) => Promise<void>
  onUndo: (entryId: string) => Promise<void>
}
export type RoundUse = RoundActs & { page: Page<Round>; round: Round | null }

export function useRound(warehouseId: string): RoundUse {
  const page = usePage<Round>(roundPath(warehouseId))
  const keeping = useKeeping()
  const known = page.data && inMonth(page.data, wallOf(serverNow(), page.data.warehouse.zone).slice(0, 7))
  const round = known && layRoundOver(known, keeping.notIn(page.at))
  const common = { warehouseId, month: round?.month }
  return {
    page,
    round,
    onAcknowledge: () =>
      keeping.keep({
        kind: 'post',
        path: ACKNOWLEDGE,
        body: { ...common, entryId: crypto.randomUUID(), statement: round?.acknowledgement },
      }),
    onAnswer: (machineId, outcome, reason) =>
      keeping.keep({ kind: 'round', body: { ...common, machineId, outcome, ...(reason ? { reason } : {}) } }),
    async onUndo(entryId) {
      const machineId = round?.lines.find(({ answer }) => answer?.entryId === entryId)?.machineId
      if (!(await keeping.takeBack(entryId)))
        await keeping.keep({ kind: 'post', path: undoPath(entryId), ...(machineId ? { machineId } : {}), body: {} })
    },
  }
}
