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
  warehouse: { id: string; name: string }
  month: string
  personName: string
  cautions: { key: string; text: string }[]
  acknowledgement: string
  /** Whatever is not null: it was read. */
  acknowledged: unknown
  lines: RoundLine[]
  doneCount: number
  openCount: number
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
