import { AppError } from '@tapewarden/platform'

/**
 * Counts requests in a sliding window, by key, against floods alone: nothing can be guessed here, so each process counts
 * for itself and a look at a label writes nothing. Guesses are counted in the database (sessions/tries.ts).
 */
export class Throttle {
  private readonly tries = new Map<string, number[]>()

  constructor(
    private readonly most: number,
    private readonly windowMs: number,
  ) {}

  /** @throws AppError too_many, with the seconds until the next try is free */
  take(key: string, nowMs: number): void {
    const since = nowMs - this.windowMs
    const recent = (this.tries.get(key) ?? []).filter((at) => at > since)
    if (recent.length >= this.most)
      throw new AppError('too_many', 'TOO_MANY_TRIES', 'Too many tries. Wait a little.', undefined, {
        retryAfterSeconds: Math.max(1, Math.ceil(((recent[0] ?? nowMs) - since) / 1000)),
      })
    recent.push(nowMs)
    this.tries.set(key, recent)
    if (this.tries.size > 10_000) this.forgetOld(since)
  }

  private forgetOld(since: number): void {
    for (const [key, list] of this.tries) if ((list.at(-1) ?? 0) <= since) this.tries.delete(key)
  }
}
