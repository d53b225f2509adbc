/** Every change of clocks of a zone, as Intl tells its offsets, found by halving: written apart from what it tries. */
export const FROM = Date.UTC(2026, 10, 25)
export const TO = Date.UTC(2029, 10, 25)
export const QUARTER_MS = 900_000
export const DAY_MS = 86_400_000
const STEP_MS = 6 * 3_600_000

/** The local time of an instant, as if it were UTC, less the instant. */
export function offsetReader(zone: string): (instantMs: number) => number {
  const format = new Intl.DateTimeFormat('en-US', {
    timeZone: zone,
    hourCycle: 'h23',
    year: 'numeric',
    month: 'numeric',
    day: 'numeric',
    hour: 'numeric',
    minute: 'numeric',
    second: 'numeric',
  })
  return (instantMs) => {
    const [month, day, year, hour, minute, second] = (format.format(instantMs).match(/\d+/g) ?? []).map(Number) as number[]
    return Date.UTC(year!, month! - 1, day, hour, minute, second) - instantMs
  }
}

export interface Change {
  at: number
  before: number
  after: number
}

export function changesOf(offsetAt: (instantMs: number) => number): Change[] {
  const changes: Change[] = []
  let before = offsetAt(FROM)
  for (let end = FROM + STEP_MS; end <= TO; end += STEP_MS) {
    const after = offsetAt(end)
    if (after === before) continue
    let [low, high] = [end - STEP_MS, end]
    while (high - low > 1000) {
      const middle = Math.floor((low + high) / 2000) * 1000
      if (offsetAt(middle) === before) low = middle
      else high = middle
    }
    changes.push({ at: high, before, after })
    before = after
  }
  return changes
}
