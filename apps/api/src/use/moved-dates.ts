/** What a change that is only shown would move: the dates before it and after it, machine by machine. */
import type { PreviewedDate } from '@tapewarden/persistence'
import type { MovedDate } from '@tapewarden/shared'
import { daysBetween } from './local-day.js'

/** A preview answers while somebody waits; more than these are not computed, and the answer says so. */
export const MOST_PREVIEWED = 2000
const MOST_MOVES = 400

export interface Standing extends Record<string, unknown> {
  machineId: string
  labelCode: string
  warehouseName: string
}

function moveOf(where: Standing, before: PreviewedDate | undefined, after: PreviewedDate | undefined): MovedDate | null {
  const [from, to] = [before?.dueOn ?? null, after?.dueOn ?? null]
  const one = after ?? before
  if (!one || (from === to && before?.state === after?.state)) return null
  return {
    machineId: where.machineId,
    labelCode: where.labelCode,
    warehouseName: where.warehouseName,
    taskKey: one.taskKey,
    taskName: one.taskName,
    before: before ? { state: before.state, dueOn: from } : null,
    after: after ? { state: after.state, dueOn: to } : null,
    days: from !== null && to !== null ? daysBetween(from, to) : null,
    lastDoneOn: one.lastDoneOn,
  }
}

export function movesOf(machines: readonly Standing[], before: readonly PreviewedDate[], after: readonly PreviewedDate[]): MovedDate[] {
  const keyOf = (date: PreviewedDate) => `${date.machineId} ${date.serviceTaskId}`
  const [then, now] = [new Map(before.map((one) => [keyOf(one), one])), new Map(after.map((one) => [keyOf(one), one]))]
  const place = new Map(machines.map((one) => [one.machineId, one]))
  return [...new Set([...then.keys(), ...now.keys()])].flatMap((key) => {
    const where = place.get(key.slice(0, 36))
    const move = where ? moveOf(where, then.get(key), now.get(key)) : null
    return move ? [move] : []
  })
}

export const largestFirst = (moves: readonly MovedDate[]): { movedCount: number; moves: MovedDate[] } => ({
  movedCount: moves.length,
  moves: moves.toSorted((a, b) => Math.abs(b.days ?? 0) - Math.abs(a.days ?? 0)).slice(0, MOST_MOVES),
})

export function middleOf(values: readonly number[]): number | null {
  const sorted = [...values].sort((a, b) => a - b)
  return sorted[sorted.length >> 1] ?? null
}
