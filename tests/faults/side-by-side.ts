/** Full runs are mostly waiting for leases and locks: rounds of one kind go side by side, each on a ground of its own. */
import { freshDatabase } from './fresh-database.js'
import { type Ground, openGround } from './ground.js'

/** More than the processors bear make deaths slow, not more. */
const LANES = Number(process.env.FAULTS_LANES ?? 3)

/** Runs `times` rounds, some at once. @returns their results in order */
export async function sideBySide<Result>(times: number, round: (time: number) => Promise<Result>): Promise<Result[]> {
  const results: Result[] = []
  let next = 0
  const lane = async () => {
    while (next < times) {
      const at = next++
      results[at] = await round(at)
      console.error(`  round ${at + 1} of ${times} is over`)
    }
  }
  await Promise.all(Array.from({ length: Math.min(LANES, times) }, lane))
  return results
}

/** A database, a mail server and, where asked for, a Redis that nothing else uses. */
export async function onFreshGround<Result>(backend: Ground['backend'], use: (ground: Ground) => Promise<Result>): Promise<Result> {
  const fresh = await freshDatabase()
  const ground = await openGround(backend, fresh.url)
  try {
    return await use(ground)
  } finally {
    await ground.close()
    await fresh.drop()
  }
}
