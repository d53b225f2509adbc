import { createHmac } from 'node:crypto'
import { Inject, Injectable } from '@nestjs/common'
import { Database, forgiveTries, giveBackTry, takeTries } from '@tapewarden/persistence'
import { AppError, keyFor } from '@tapewarden/platform'
import { SETTINGS } from '../use/tokens.js'

/** How often something may be tried, by whatever it is counted by. */
export interface Limit {
  /** Parts one count from another. */
  name: string
  most: number
  windowSeconds: number
}

export interface Try {
  limit: Limit
  /** Address and account together where a person could be locked out: a stranger's tries are then another count than theirs. */
  by: string
}

/**
 * Counts guesses in the database, so that every api process knows of them and no restart forgives any. By the database's
 * time: a shifted clock does not shift the patience. Names and addresses are kept as keyed hashes alone.
 */
@Injectable()
export class Tries {
  private readonly key: Buffer

  constructor(
    private readonly database: Database,
    @Inject(SETTINGS) settings: { secretKey: string },
  ) {
    this.key = keyFor(settings.secretKey, 'tries')
  }

  private keyOf({ limit, by }: Try): Buffer {
    return createHmac('sha256', this.key).update(`${limit.name}\0${by}`).digest()
  }

  /** In one question, however many. @throws AppError too_many, with the seconds until the next try is free */
  async take(...tries: readonly Try[]): Promise<void> {
    const wait = await takeTries(
      this.database.pool,
      tries.map((one) => ({ key: this.keyOf(one), most: one.limit.most, windowSeconds: one.limit.windowSeconds })),
    )
    if (wait !== null)
      throw new AppError('too_many', 'TOO_MANY_TRIES', 'Too many tries. Wait a little.', undefined, { retryAfterSeconds: wait })
  }

  async forgive(one: Try): Promise<void> {
    await forgiveTries(this.database.pool, this.keyOf(one))
  }

  /** One try that was right; those before it stay counted. */
  async giveBack(one: Try): Promise<void> {
    await giveBackTry(this.database.pool, this.keyOf(one))
  }
}
