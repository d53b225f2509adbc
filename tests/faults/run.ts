/** Runs one kind of fault on one backend, on a database of its own; the last line printed is the result, or null where the kind is not for this backend. */
import { wrongClocks } from './clock-faults.js'
import { cutCommits, killedPostgres } from './database-faults.js'
import { freshDatabase } from './fresh-database.js'
import { openGround } from './ground.js'
import { crashPoints, randomKills, standStill } from './kills.js'
import { smtpMatrix } from './mail-faults.js'
import { emptied, killedRedis } from './queue-faults.js'
import { awayOrFull } from './redis-faults.js'
import type { Scale } from './result.js'
import { silentWorkers } from './silent-workers.js'
import { allAtOnce } from './start-faults.js'

const KINDS = {
  R1: randomKills,
  R2: crashPoints,
  R3: standStill,
  R4: killedRedis,
  R5: emptied,
  R6: awayOrFull,
  R7: killedPostgres,
  R8: cutCommits,
  R10: smtpMatrix,
  R11: wrongClocks,
  R14: allAtOnce,
  ALARM: silentWorkers,
} as const

const [backend, id, scale] = process.argv.slice(2) as ['postgres' | 'redis', keyof typeof KINDS, Scale]
const fresh = await freshDatabase()
const ground = await openGround(backend, fresh.url)
const began = Date.now()
try {
  const result = await KINDS[id](ground, scale)
  const seconds = Math.round((Date.now() - began) / 1000)
  console.error(result ? `${id} on ${backend}: ${result.passed ? 'passed' : 'FAILED'} in ${seconds} s` : `${id} is not for ${backend}`)
  console.log(JSON.stringify(result))
} finally {
  await ground.close()
  await fresh.drop()
}
process.exit(0)
