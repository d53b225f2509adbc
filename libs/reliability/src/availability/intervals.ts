/** Sets of half-open stretches of time [from, to). */
export interface Stretch {
  from: number
  to: number
}

/** The same time without overlaps, ascending; empty stretches are left out. */
export function unionOf(stretches: readonly Stretch[]): Stretch[] {
  const joined: Stretch[] = []
  for (const { from, to } of stretches.toSorted((a, b) => a.from - b.from)) {
    if (to <= from) continue
    const last = joined.at(-1)
    if (last && from <= last.to) last.to = Math.max(last.to, to)
    else joined.push({ from, to })
  }
  return joined
}

export const lengthOf = (stretches: readonly Stretch[]): number => stretches.reduce((sum, { from, to }) => sum + to - from, 0)

export const clip = ({ from, to }: Stretch, window: Stretch): Stretch => ({
  from: Math.max(from, window.from),
  to: Math.min(to, window.to),
})

/** Time that lies in both sets. */
export function overlapOf(one: readonly Stretch[], other: readonly Stretch[]): number {
  const [a, b] = [unionOf(one), unionOf(other)]
  let [i, j, total] = [0, 0, 0]
  while (i < a.length && j < b.length) {
    const [x, y] = [a[i] as Stretch, b[j] as Stretch]
    total += Math.max(0, Math.min(x.to, y.to) - Math.max(x.from, y.from))
    if (x.to < y.to) i += 1
    else j += 1
  }
  return total
}
