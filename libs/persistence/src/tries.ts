import type { Pool } from 'pg'

export interface CountedTry {
  /** 32 bytes that say who tries at what. */
  key: Buffer
  most: number
  windowSeconds: number
}

/**
 * Counts a try under each key, in their order, in a transaction of its own: what fails afterwards stays counted.
 * @returns seconds to wait where one of them is used up (those after it are not counted), else null
 */
export async function takeTries(pool: Pool, tries: readonly CountedTry[]): Promise<number | null> {
  const { rows } = await pool.query<{ wait: number | null }>(`SELECT take_tries($1, $2, $3) AS wait`, [
    tries.map(({ key }) => key),
    tries.map(({ most }) => most),
    tries.map(({ windowSeconds }) => windowSeconds),
  ])
  return rows[0]?.wait ?? null
}

export async function forgiveTries(pool: Pool, key: Buffer): Promise<void> {
  await pool.query(`SELECT forgive_tries($1)`, [key])
}

/** The last of them was none. */
export async function giveBackTry(pool: Pool, key: Buffer): Promise<void> {
  await pool.query(`SELECT give_back_try($1)`, [key])
}
