/** R6: Redis away, and Redis full. What people write is kept meanwhile; what waited is gone soon after it is back. */
import { Redis } from 'ioredis'
import { type Ground, newOrganisation, nextWord, pause, startApi, startWorker, untilReady, untilSettled } from './ground.js'
import { judge } from './judge.js'
import { type FaultResult, resultOf, type Scale } from './result.js'
import { ANY_ALARM, secondsToAlarm } from './silent-workers.js'
import { checkLedger, startWriters } from './writers.js'

/** So long may the backlog take after Redis is back. */
const BACKLOG_SECONDS = 300
/** The api gives the queue half a second and then goes on without it. */
const SLOWEST_MS = 3000
/** A trouble that lasts must have been told by mail by then. */
const ALARM_SECONDS = 120
const PATIENT = { SEND_LEASE_SECONDS: '60', SMTP_SILENCE_SECONDS: '30' }

async function whileAway(ground: Ground, seconds: number): Promise<void> {
  await ground.redis?.kill()
  await pause(seconds * 1000)
  await ground.redis?.again()
}

async function whileFull(ground: Ground, seconds: number): Promise<void> {
  const redis = new Redis(ground.env.QUEUE_URL as string)
  await redis.config('SET', 'maxmemory', '1')
  await pause(seconds * 1000)
  await redis.config('SET', 'maxmemory', '0')
  redis.disconnect()
}

export async function awayOrFull(ground: Ground, scale: Scale): Promise<FaultResult | null> {
  if (!ground.redis) return null
  const seconds = scale === 'full' ? 600 : 4
  const faults: string[] = []
  const organisations = []
  let [writes, worst] = [0, 0]
  const [api, worker] = [await startApi(ground), startWorker(ground, PATIENT)]
  await untilReady(api)
  for (const [name, trouble] of Object.entries({ away: whileAway, full: whileFull })) {
    const early = await newOrganisation(ground, nextWord(ground), { machines: 4, readers: 10 })
    const writing = await startWriters(ground.database, api.port, early, { clients: 5, paceMs: 200 })
    await pause(1000)
    const before = writing.ledger.acknowledged.size
    const late = newOrganisation(ground, nextWord(ground), { machines: 4, readers: 10 })
    const alarm = seconds > ALARM_SECONDS ? secondsToAlarm(ground, ALARM_SECONDS, ANY_ALARM) : Promise.resolve(0)
    await trouble(ground, seconds)
    if ((await alarm) === null) faults.push(`no alarm within ${ALARM_SECONDS} s of Redis being ${name}`)
    const during = writing.ledger.acknowledged.size - before
    const ledger = await writing.stop()
    if (during === 0) faults.push(`nothing could be written while Redis was ${name}`)
    if (ledger.refusals > 0) faults.push(`the api refused ${ledger.refusals} writes while Redis was ${name}`)
    if (ledger.slowestMs > SLOWEST_MS) faults.push(`a write took ${Math.round(ledger.slowestMs)} ms while Redis was ${name}`)
    organisations.push(early, await late)
    worst = Math.max(worst, await untilSettled(ground, organisations, BACKLOG_SECONDS))
    writes += ledger.acknowledged.size
    faults.push(...(await checkLedger(ground.database, early, ledger)))
  }
  await Promise.all([api.kill('SIGTERM'), worker.kill('SIGTERM')])
  const what = `Redis away for ${seconds} s, then full for ${seconds} s; writes went on`
  const came = { id: 'R6', backend: ground.backend, what, injected: 2, uncertainAllowed: 0, worstRecoverySeconds: worst, writes, faults }
  return resultOf(came, await judge(ground, organisations))
}
