/** Runs the asked kinds of fault on one backend; the last line printed is the results. */
import { openGround } from './ground.js'
import { crashPoints, randomKills, standStill } from './kills.js'
import { smtpMatrix } from './mail-faults.js'
import { emptied, killedRedis } from './queue-faults.js'
import type { FaultResult, Scale } from './result.js'

const KINDS = { R1: randomKills, R2: crashPoints, R3: standStill, R4: killedRedis, R5: emptied, R10: smtpMatrix } as const

const [backend, databaseUrl, asked, scale] = process.argv.slice(2) as ['postgres' | 'redis', string, string, Scale]
const results: FaultResult[] = []
for (const [id, run] of Object.entries(KINDS)) {
  if (!asked.split(',').includes(id)) continue
  const ground = await openGround(backend, databaseUrl)
  const began = Date.now()
  try {
    const result = await run(ground, scale)
    if (result) results.push(result)
    console.error(
      result
        ? `${id} on ${backend}: ${result.passed ? 'passed' : 'FAILED'} in ${Math.round((Date.now() - began) / 1000)} s`
        : `${id} is not for ${backend}`,
    )
  } finally {
    await ground.close()
  }
}
console.log(JSON.stringify(results))
process.exit(0)
