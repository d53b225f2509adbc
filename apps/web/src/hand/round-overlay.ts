/** A round with the answers that are still only on this phone laid over it. Pure. */
import type { KeptEntry } from './outbox.js'

export interface RoundLine {
  machineId: string
  labelCode: string
  typeName: string
  stationName: string | null
  line: string
  caution: string
  tasks: { taskName: string; state: string }[]
  minutes: number
  mayDo: boolean
  answer: { entryId: string; outcome: 'done' | 'not_done'; reason: string | null; personName: string; canUndo: boolean; kept?: true } | null
}
export interface Round {
  warehouse: { id: string; name: string; zone: string }
  month: string
  /** The lines are those of this earlier month; left out: of the round's own. */
  listOf?: string
  personName: string
  cautions: { key: string; text: string }[]
  acknowledgement: string
  /** Whatever is not null: it was read. */
  acknowledged: unknown
  lines: RoundLine[]
  doneCount: number
  openCount: number
}

export const ACKNOWLEDGE = '/api/v1/rounds/acknowledgements'
const UNDO = /^\/api\/v1\/rounds\/answers\/([^/]+)\/undo$/
export const undoPath = (entryId: string): string => `/api/v1/rounds/answers/${entryId}/undo`

/** The month turned without a network: by the last list that is known, of which nothing is answered or read yet. */
export function inMonth(round: Round, month: string): Round {
  if (month <= round.month) return round
  const lines = round.lines.map((line) => ({ ...line, answer: null }))
  return { ...round, month, listOf: round.month, acknowledged: null, lines, doneCount: 0, openCount: lines.length }
}

/** With all that is only on this phone: what was read, answered and taken back. */
export function layRoundOver(round: Round, kept: readonly KeptEntry[]): Round {
  const mine = kept.filter(({ body }) => body.warehouseId === round.warehouse.id && body.month === round.month)
  const read = mine.some(({ path }) => path === ACKNOWLEDGE)
  const undone = new Set(kept.flatMap(({ path }) => UNDO.exec(path ?? '')?.[1] ?? []))
  return layAnswersOver(
    takenBack({ ...round, acknowledged: round.acknowledged ?? (read || null) }, undone),
    mine.filter(({ kind, id }) => kind === 'round' && !undone.has(id)),
  )
}

function takenBack(round: Round, undone: ReadonlySet<string>): Round {
  const lines = round.lines.map((line) => (line.answer && undone.has(line.answer.entryId) ? { ...line, answer: null } : line))
  const open = lines.filter(({ answer }, index) => answer === null && round.lines[index]?.answer?.outcome === 'done').length
  return { ...round, lines, doneCount: round.doneCount - open, openCount: round.openCount + open }
}

/** The newest kept answer of a line stands for it, marked as kept until it is saved; counts follow. Nothing is ticked that nobody answered. */
export function layAnswersOver(round: Round, kept: readonly KeptEntry[]): Round {
  const answers = new Map(kept.map(({ id, body, savedAt }) => [body.machineId as string, { id, body, saved: savedAt !== undefined }]))
  const lines = round.lines.map((line): RoundLine => {
    const found = answers.get(line.machineId)
    if (!found) return line
    const { outcome, reason } = found.body as { outcome: 'done' | 'not_done'; reason?: string }
    return {
      ...line,
      answer: {
        entryId: found.id,
        outcome,
        reason: reason ?? null,
        personName: round.personName,
        canUndo: true,
        ...(found.saved ? {} : { kept: true as const }),
      },
    }
  })
  const newlyDone = lines.filter((line, index) => line.answer?.outcome === 'done' && round.lines[index]?.answer?.outcome !== 'done').length
  return { ...round, lines, doneCount: round.doneCount + newlyDone, openCount: Math.max(0, round.openCount - newlyDone) }
}
