/** The minutes of work by the entries themselves: from begun or gone on to waiting, handed back or finished. Pure. */
const RUNS = new Set(['start', 'resume'])
const STANDS = new Set(['wait', 'hand_back', 'finish'])

/** Longer than a shift is a clock that nobody stopped. */
const LONGEST_MINUTES = 600

/**
 * @param entries of one sheet, in any order; instants as RFC 3339
 * @param nowMs milliseconds since 1970
 * @returns whole minutes, at least 1; null: the work was not begun, or the clock cannot be right
 */
export function minutesWorked(entries: readonly { kind: string; madeAt: string }[], nowMs: number): number | null {
  const moments = entries
    .filter(({ kind }) => RUNS.has(kind) || STANDS.has(kind))
    .map(({ kind, madeAt }) => ({ runs: RUNS.has(kind), atMs: Date.parse(madeAt) }))
    .sort((a, b) => a.atMs - b.atMs)
  let sinceMs: number | null = null
  let totalMs = 0
  for (const { runs, atMs } of moments) {
    if (sinceMs !== null && !runs) totalMs += atMs - sinceMs
    if (runs) sinceMs ??= atMs
    else sinceMs = null
  }
  if (sinceMs !== null) totalMs += Math.max(0, nowMs - sinceMs)
  const minutes = Math.max(1, Math.round(totalMs / 60_000))
  return moments.length === 0 || minutes > LONGEST_MINUTES ? null : minutes
}
