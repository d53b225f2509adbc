/**
 * The time by the server's clock. A phone's or a desk's own may be hours or days off; what was typed by it would stand at the wrong day,
 * or be refused as lying in the future. Every answer of the server says what time it is there, to the second.
 */
const KEY = 'tapewarden-clock'
/** Less is a slow answer, or nothing that matters to a day. */
const MATTERS_MS = 60_000
/** An answer that took longer says too little. */
const SLOW_MS = 20_000
/** A server takes a little ahead as now. */
const LITTLE_MS = 60_000

let aheadMs = recall()

function recall(): number {
  try {
    return Number(localStorage.getItem(KEY)) || 0
  } catch {
    return 0
  }
}

/** By how much this phone's clock is ahead of the server's; behind is negative, milliseconds; 0: right, or not known. */
export const clockAheadMs = (): number => aheadMs

/** Milliseconds since 1970 by the server's clock, as far as this phone knows it. */
export const serverMs = (): number => Date.now() - aheadMs
export const serverNow = (): string => new Date(serverMs()).toISOString()

/**
 * @param said the answer's Date header; null: it has none
 * @param askedMs and answeredMs by this phone's clock
 */
export function learnClock(said: string | null, askedMs: number, answeredMs = Date.now()): void {
  const there = Date.parse(said ?? '')
  if (Number.isNaN(there) || answeredMs - askedMs > SLOW_MS || answeredMs < askedMs) return
  const ahead = (askedMs + answeredMs) / 2 - (there + 500)
  if (Math.abs(ahead - aheadMs) < MATTERS_MS / 2) return
  aheadMs = Math.abs(ahead) < MATTERS_MS ? 0 : Math.round(ahead)
  try {
    localStorage.setItem(KEY, String(aheadMs))
  } catch {
    // Then it is learnt anew with the next answer.
  }
}

const MOMENTS = ['madeAt', 'takenAt', 'at', 'failedAt', 'reportedAt', 'backInUseAt'] as const

/** What claims to have been typed later than now was typed before the clock was put right: when is not known, but not later than now. */
export function notAhead(body: Record<string, unknown>, nowMs = serverMs()): Record<string, unknown> {
  const ahead = MOMENTS.filter((name) => typeof body[name] === 'string' && Date.parse(body[name]) > nowMs + LITTLE_MS)
  return ahead.length === 0 ? body : { ...body, ...Object.fromEntries(ahead.map((name) => [name, new Date(nowMs).toISOString()])) }
}

/** null: right enough. */
export function sayClock(ahead = aheadMs): string | null {
  const minutes = Math.round(Math.abs(ahead) / 60_000)
  if (minutes < 5) return null
  const [count, unit] =
    minutes < 120 ? [minutes, 'minute'] : minutes < 2880 ? [Math.round(minutes / 60), 'hour'] : [Math.round(minutes / 1440), 'day']
  return `This phone’s clock is ${count} ${unit}s ${ahead > 0 ? 'ahead' : 'behind'}. What you enter is kept by the server’s clock.`
}
