/** Time in hours on a line of milliseconds. Pure. */
export interface Interval {
  from: number
  to: number
}
const HOUR_MS = 3_600_000

export function cut(intervals: readonly Interval[], within: Interval): Interval[] {
  return intervals
    .map(({ from, to }) => ({ from: Math.max(from, within.from), to: Math.min(to, within.to) }))
    .filter(({ from, to }) => to > from)
}

/** Two stoppages at once stop a machine once. */
export function union(intervals: readonly Interval[]): Interval[] {
  const merged: Interval[] = []
  for (const next of [...intervals].sort((a, b) => a.from - b.from)) {
    const last = merged.at(-1)
    if (last && next.from <= last.to) last.to = Math.max(last.to, next.to)
    else merged.push({ ...next })
  }
  return merged
}

export function hoursOf(intervals: readonly Interval[]): number {
  return intervals.reduce((sum, { from, to }) => sum + (to - from), 0) / HOUR_MS
}

/** What is left of intervals where others are taken out of them. */
export function without(intervals: readonly Interval[], holes: readonly Interval[]): Interval[] {
  return union(holes).reduce(
    (left, hole) =>
      left.flatMap(({ from, to }) =>
        [
          { from, to: Math.min(to, hole.from) },
          { from: Math.max(from, hole.to), to },
        ].filter((one) => one.to > one.from),
      ),
    [...intervals],
  )
}
