/** R11: machines whose clocks are five minutes apart, clocks that jump by a day, and a database whose day jumps with them. */
import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { type Ground, newOrganisation, nextWord, pause, root, startWorker, untilSettled } from './ground.js'
import { judge } from './judge.js'
import { type FaultResult, resultOf, type Scale } from './result.js'

const [MINUTE_MS, DAY_MS] = [60_000, 86_400_000]
/** A reminder may be told so long after it was due, by the database's clock. */
const LATEST_SECONDS = 60
const PATIENT = { SEND_LEASE_SECONDS: '60', SMTP_SILENCE_SECONDS: '30' }

/** A worker on a machine whose clock is wrong, and may be set while it runs. */
function startWrong(ground: Ground, name: string, shiftMs: number, more: Record<string, string> = {}) {
  const file = join(ground.logFolder, `clock-${name}`)
  const set = (ms: number) => writeFileSync(file, String(ms))
  set(shiftMs)
  const worker = startWorker(ground, { ...PATIENT, SHIFT_FILE: file, ...more }, ['--import', join(root, 'tests/faults/shifted-clock.mjs')])
  return { worker, set }
}

export async function wrongClocks(ground: Ground, scale: Scale): Promise<FaultResult> {
  const rounds = scale === 'full' ? 20 : 1
  const organisations: Awaited<ReturnType<typeof newOrganisation>>[] = []
  const asked = { machines: 5, readers: scale === 'full' ? 20 : 10 }
  const faults: string[] = []
  let [injected, worst] = [0, 0]
  const step = async (what: string) => {
    injected += 1
    const organisation = await newOrganisation(ground, nextWord(ground), asked)
    organisations.push(organisation)
    const began = Date.now()
    await untilSettled(ground, [organisation], 120).catch((error: Error) => {
      throw new Error(`Step ${injected}, ${what}: ${error.message}`)
    })
    const ours = new Set(organisation.readers.map(({ email }) => email))
    const last = Math.max(...ground.sink.taken.filter(({ to }) => ours.has(to)).map(({ at }) => at))
    const seconds = (last - began) / 1000
    worst = Math.max(worst, seconds)
    if (seconds > LATEST_SECONDS) faults.push(`${what}: told after ${Math.round(seconds)} s`)
  }
  const ahead = startWrong(ground, 'ahead', 5 * MINUTE_MS)
  const behind = startWrong(ground, 'behind', -5 * MINUTE_MS)
  for (let round = 0; round < rounds; round++) {
    await step('five minutes ahead and behind')
    ahead.set(DAY_MS)
    await step('one of them jumps a day ahead')
    ahead.set(5 * MINUTE_MS)
    behind.set(-DAY_MS)
    await step('the other jumps a day back')
    behind.set(-5 * MINUTE_MS)
    ahead.set(0)
    await step('stepped to the right time')
    ahead.set(5 * MINUTE_MS)
  }
  await Promise.all([ahead.worker.kill('SIGTERM'), behind.worker.kill('SIGTERM')])
  // The day itself jumps for everybody, there and back: what was said stays said.
  for (const days of [1, 0]) {
    const { worker } = startWrong(ground, `day-${days}`, 0, { CLOCK_OFFSET: String(ground.offsetMs + days * DAY_MS) })
    await step(days === 1 ? 'the day jumps ahead' : 'the day jumps back')
    await pause(1500)
    await worker.kill('SIGTERM')
  }
  const what = 'clocks of workers 5 minutes ahead and behind, jumping a day; the day itself jumping there and back'
  const came = { id: 'R11', backend: ground.backend, what, injected, uncertainAllowed: 0, worstRecoverySeconds: worst, faults }
  return resultOf(came, await judge(ground, organisations))
}
