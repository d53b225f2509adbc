/** ALARM: every worker stands still, or is killed: the api tells an administrator past the queue, within two minutes. */
import { type Ground, newOrganisation, nextWord, pause, startApi, startWorker, untilReady, untilSettled } from './ground.js'
import { judge } from './judge.js'
import { type FaultResult, resultOf, type Scale } from './result.js'

const WORKERS = 2
const ALLOWED_SECONDS = 120
/** A subject without a sign outside ASCII stands in the mail as it is. */
const NO_WORKER = /no mail goes out, no worker answers/
/** The workers' own alarm, or the api's. */
export const ANY_ALARM = /no mail goes out, no worker answers|what should go out stands still/

/** Seconds from now to the alarm in the sink's ledger; null: none came. */
export async function secondsToAlarm({ sink }: Ground, seconds: number, subject: RegExp): Promise<number | null> {
  const began = Date.now()
  const before = sink.taken.length
  while (Date.now() - began < seconds * 1000) {
    if (sink.taken.slice(before).some(({ raw }) => subject.test(raw.replace(/\r\n\s/g, ' ')))) return (Date.now() - began) / 1000
    await pause(50)
  }
  return null
}

export async function silentWorkers(ground: Ground, scale: Scale): Promise<FaultResult> {
  // In CI nobody waits for the real silence; the full run has the product's own times.
  const own = { SWEEP_SECONDS: scale === 'full' ? '30' : '1', ...(scale === 'full' ? {} : { WORKER_SILENCE_SECONDS: '5' }) }
  const allowed = scale === 'full' ? ALLOWED_SECONDS : 12
  const signals: readonly NodeJS.Signals[] = scale === 'full' ? ['SIGSTOP', 'SIGKILL'] : ['SIGSTOP']
  const organisations = []
  const faults: string[] = []
  let worst = 0
  for (const signal of signals) {
    // An organisation of its own each time: one that was told of silence is left in peace for an hour.
    const organisation = await newOrganisation(ground, nextWord(ground), { machines: 4, readers: 4 })
    organisations.push(organisation)
    const api = await startApi(ground, own)
    const workers = Array.from({ length: WORKERS }, () => startWorker(ground, own))
    await untilReady(api)
    await untilSettled(ground, organisations, 180)
    await pause(Number(own.SWEEP_SECONDS) * 1000 + 1000)
    for (const { child } of workers) child.kill(signal)
    const seconds = await secondsToAlarm(ground, allowed, NO_WORKER)
    if (seconds === null) faults.push(`no alarm within ${allowed} s of ${signal} to every worker`)
    else worst = Math.max(worst, seconds)
    await Promise.all(workers.map((worker) => worker.kill('SIGKILL')))
    await api.kill('SIGTERM')
  }
  const what = `${WORKERS} workers, each of them sent ${signals.join(', then ')}: seconds to the api's alarm`
  const came = {
    id: 'ALARM',
    backend: ground.backend,
    what,
    injected: signals.length,
    uncertainAllowed: 0,
    worstRecoverySeconds: worst,
    faults,
  }
  return resultOf(came, await judge(ground, organisations))
}
