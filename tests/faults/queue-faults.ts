/** R4 and R5: the queue is killed, emptied in the middle of work, or empty from the start. PostgreSQL knows it all. */
import { JobQueue } from '@tapewarden/queues'
import { type Ground, newOrganisation, nextWord, pause, startWorker, untilSettled } from './ground.js'
import { judge } from './judge.js'
import { type FaultResult, resultOf, type Scale } from './result.js'

/** No mail is given up here: only the queue is at fault, so no message may be uncertain. */
const PATIENT = { SEND_LEASE_SECONDS: '60', SMTP_SILENCE_SECONDS: '30' }
/** So long may it take until everything that an emptied queue held has gone out. */
const REBUILT_SECONDS = 60

/** Everything the queue holds is thrown away, some hundred milliseconds into the work. */
export async function emptied(ground: Ground, scale: Scale): Promise<FaultResult> {
  const times = scale === 'full' ? 20 : 1
  const queue = JobQueue.open(ground.env.QUEUE_URL as string, () => undefined)
  await queue.waitUntilReady()
  const organisations = []
  let worst = 0
  ground.sink.fault = (phase) => (phase === 'rcpt' ? 'slow' : null)
  for (let time = 0; time < times; time++) {
    const organisation = await newOrganisation(ground, nextWord(ground), {
      machines: 6,
      readers: scale === 'full' ? 85 : 30,
    })
    organisations.push(organisation)
    await queue.empty()
    const workers = [startWorker(ground, PATIENT), startWorker(ground, PATIENT)]
    await pause(2000 + Math.random() * 1500)
    await queue.empty().catch(() => undefined)
    worst = Math.max(worst, await untilSettled(ground, [organisation], 180))
    await Promise.all(workers.map((worker) => worker.kill('SIGTERM')))
  }
  ground.sink.fault = () => null
  await queue.close()
  const faults = scale === 'full' && worst > REBUILT_SECONDS ? [`it took ${worst} s until all had gone out`] : []
  return resultOf(
    {
      id: 'R5',
      backend: ground.backend,
      what: 'the queue emptied at the start and in the middle of work',
      injected: times * 2,
      uncertainAllowed: 0,
      worstRecoverySeconds: worst,
      faults,
    },
    await judge(ground, organisations),
  )
}

/** Redis killed with -9 and started again with what its append-only file kept. */
export async function killedRedis(ground: Ground, scale: Scale): Promise<FaultResult | null> {
  const { redis } = ground
  if (!redis) return null
  const times = scale === 'full' ? 50 : 1
  const organisations = []
  ground.sink.fault = (phase) => (phase === 'rcpt' ? 'slow' : null)
  const workers = [startWorker(ground, PATIENT), startWorker(ground, PATIENT)]
  for (let time = 0; time < times; time++) {
    // Something is under way at every kill.
    organisations.push(await newOrganisation(ground, nextWord(ground), { machines: 6, readers: scale === 'full' ? 34 : 60 }))
    await pause(1500)
    await redis.kill()
    await pause(500)
    await redis.again()
  }
  const worst = await untilSettled(ground, organisations, 240)
  ground.sink.fault = () => null
  await Promise.all(workers.map((worker) => worker.kill('SIGTERM')))
  return resultOf(
    { id: 'R4', backend: ground.backend, what: 'Redis killed with -9', injected: times, uncertainAllowed: 0, worstRecoverySeconds: worst },
    await judge(ground, organisations),
  )
}
