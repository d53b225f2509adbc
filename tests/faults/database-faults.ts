/** R7 and R8: PostgreSQL killed under twenty writers, and the connection cut at COMMIT. */
import { startCommitCutter } from './cut-at-commit.js'
import { startDurablePostgres } from './durable-postgres.js'
import {
  type Ground,
  IN_FLIGHT,
  newOrganisation,
  nextWord,
  openGround,
  pause,
  startApi,
  startWorker,
  untilReady,
  untilSettled,
} from './ground.js'
import { judge } from './judge.js'
import { type FaultResult, resultOf, type Scale } from './result.js'
import { checkLedger, startWriters } from './writers.js'

const CLIENTS = 20

/** Every write that was acknowledged is there, whole; the api says 503 with Retry-After, never 500; mails as ever. */
export async function killedPostgres(asked: Ground, scale: Scale): Promise<FaultResult> {
  const times = scale === 'full' ? 50 : 2
  const postgres = await startDurablePostgres()
  const ground = await openGround(asked.backend, postgres.appUrl)
  let worst = 0
  try {
    const organisation = await newOrganisation(ground, nextWord(ground), { machines: 4, readers: scale === 'full' ? 400 : 40 })
    ground.sink.fault = (phase) => (phase === 'rcpt' ? 'slow' : null)
    const [api, worker] = [await startApi(ground), startWorker(ground)]
    await untilReady(api)
    const writing = await startWriters(ground.database, api.port, organisation, { clients: CLIENTS, paceMs: 100 })
    for (let time = 0; time < times; time++) {
      await pause(2000 + Math.random() * 1500)
      const already = writing.ledger.acknowledged.size
      const began = Date.now()
      if (time % 2) postgres.killOne()
      else {
        await postgres.killAll()
        await pause(500)
        await postgres.again()
      }
      while (writing.ledger.acknowledged.size < already + CLIENTS && Date.now() - began < 60_000) await pause(50)
      worst = Math.max(worst, (Date.now() - began) / 1000)
    }
    const ledger = await writing.stop()
    ground.sink.fault = () => null
    worst = Math.max(worst, await untilSettled(ground, [organisation], 180))
    const faults = await checkLedger(ground.database, organisation, ledger)
    if (ledger.refusals === 0) faults.push('the api never said 503: the faults were not felt')
    for (const [name, { child }] of Object.entries({ api, worker })) if (child.exitCode !== null) faults.push(`the ${name} has ended`)
    await Promise.all([api.kill('SIGTERM'), worker.kill('SIGTERM')])
    const what = `PostgreSQL killed, by turns whole and one process of it, under ${CLIENTS} writers and a worker; 503 said ${ledger.refusals} times`
    const came = {
      id: 'R7',
      backend: ground.backend,
      what,
      injected: times,
      uncertainAllowed: times * IN_FLIGHT,
      worstRecoverySeconds: worst,
    }
    return resultOf({ ...came, writes: ledger.acknowledged.size, faults }, await judge(ground, [organisation]))
  } finally {
    await ground.close()
    await postgres.stop()
  }
}

/** Cut at COMMIT, before it arrives or before its answer does; the clients try again under the same id. */
export async function cutCommits(ground: Ground, scale: Scale): Promise<FaultResult> {
  const cuts = scale === 'full' ? 200 : 20
  const cutter = await startCommitCutter(ground.env.DATABASE_URL as string)
  const organisation = await newOrganisation(ground, nextWord(ground), { machines: 4, readers: scale === 'full' ? 300 : 30 })
  const api = await startApi(ground, { DATABASE_URL: cutter.url })
  await untilReady(api)
  const writing = await startWriters(ground.database, api.port, organisation, { clients: 5, paceMs: 100 })
  cutter.cutting = true
  const worker = startWorker(ground, { DATABASE_URL: cutter.url })
  const end = Date.now() + (scale === 'full' ? 300_000 : 60_000)
  while (cutter.cut.before + cutter.cut.after < cuts && Date.now() < end) await pause(50)
  cutter.cutting = false
  const injected = cutter.cut.before + cutter.cut.after
  const ledger = await writing.stop()
  const seconds = await untilSettled(ground, [organisation], 180)
  const faults = await checkLedger(ground.database, organisation, ledger)
  if (injected < cuts) faults.push(`only ${injected} of ${cuts} connections could be cut`)
  await Promise.all([api.kill('SIGTERM'), worker.kill('SIGTERM')])
  await cutter.stop()
  const what = `connection cut at COMMIT: ${cutter.cut.before} before it arrived, ${cutter.cut.after} before its answer did`
  const came = { id: 'R8', backend: ground.backend, what, injected, uncertainAllowed: injected, worstRecoverySeconds: seconds }
  return resultOf({ ...came, writes: ledger.acknowledged.size, faults }, await judge(ground, [organisation]))
}
