/** R1, R2, R3: workers that die at random, at named points, or stand still past their lease and wake up. */
import { newOrganisation, type Ground, LEASE_SECONDS, startWorker, untilSettled, type WorkerProcess } from './ground.js'
import { judge } from './judge.js'
import type { FaultResult, Scale } from './result.js'

const CRASH_POINTS = [
  'before_chunk_done',
  'after_chunk_done',
  'before_compose_commit',
  'after_compose_commit',
  'after_compose_enqueued',
  'before_claim',
  'after_claim',
  'after_render',
  'before_handing_over_commit',
  'after_handing_over_commit',
  'data_begins',
  'body_written',
  'after_reply',
  'after_mark',
  'after_sweep_commit',
] as const

/** Messages that one worker can have between 'handing over' and 'sent' at once. */
const IN_FLIGHT = 8
/** So long a lease that no attempt of a living worker is cut off on a busy machine. */
const STEADY = { SEND_LEASE_SECONDS: '10', SMTP_SILENCE_SECONDS: '8' }
const PATIENCE_SECONDS = 120

let word = 0
const nextWord = (ground: Ground) => `${ground.backend.slice(0, 2)}${(++word).toString(36)}${Date.now().toString(36).slice(-4)}`

function end(
  id: string,
  ground: Ground,
  what: string,
  injected: number,
  verdict: Awaited<ReturnType<typeof judge>>,
  more: { uncertainAllowed: number; worstRecoverySeconds: number; notes?: string[] },
): FaultResult {
  const notes = [...(more.notes ?? []), ...verdict.notes]
  const passed =
    verdict.lost === 0 && verdict.doubled === 0 && verdict.uncertain <= more.uncertainAllowed && (more.notes ?? []).length === 0
  return {
    id,
    backend: ground.backend,
    what,
    injected,
    ...verdict,
    uncertainAllowed: more.uncertainAllowed,
    worstRecoverySeconds: Math.round(more.worstRecoverySeconds * 10) / 10,
    passed,
    notes,
  }
}

/** Dies at each named point, is started again, and must come to rest with nothing lost and nothing twice. */
export async function crashPoints(ground: Ground, scale: Scale): Promise<FaultResult> {
  const times = scale === 'full' ? 50 : 1
  const organisations = []
  const notes: string[] = []
  let [injected, worst] = [0, 0]
  // Small: with both backends in one run, each takes every other point.
  const points =
    scale === 'small' && process.env.TAPEWARDEN_BOTH === '1'
      ? CRASH_POINTS.filter((_, index) => (index % 2 === 0) === (ground.backend === 'postgres'))
      : CRASH_POINTS
  for (const point of points)
    for (let time = 0; time < times; time++) {
      const planned = point.includes('chunk')
      const organisation = await newOrganisation(ground, nextWord(ground), { machines: 4, readers: 4 })
      organisations.push(organisation)
      if (planned)
        await ground.database.withOrganisationSql(organisation.organisationId, (scope) =>
          scope.run('UPDATE warehouse SET evidence_version = 2'),
        )
      const dying = startWorker(ground, {
        CRASH_AT: `${point}@${1 + (time % 3 && point.match(/claim|render|handing|data|body|reply|mark/) ? time % 3 : 0)}`,
      })
      const how = await Promise.race([dying.ended, new Promise<string>((done) => setTimeout(() => done('alive'), 20_000))])
      if (how === 'SIGKILL') injected += 1
      else notes.push(`${point} was not reached (${how})`)
      await dying.kill('SIGKILL')
      const next = startWorker(ground)
      worst = Math.max(worst, await untilSettled(ground, [organisation], PATIENCE_SECONDS))
      await next.kill('SIGTERM')
    }
  const verdict = await judge(ground, organisations)
  const uncertainAllowed = injected * IN_FLIGHT
  return end('R2', ground, `${points.length} named crash points × ${times}`, injected, verdict, {
    uncertainAllowed,
    worstRecoverySeconds: worst,
    notes,
  })
}

/** kill -9 at random moments among four workers while a slow server takes the mails. */
export async function randomKills(ground: Ground, scale: Scale): Promise<FaultResult> {
  const [kills, readers] = scale === 'full' ? [200, 500] : [4, 40]
  const organisation = await newOrganisation(ground, nextWord(ground), { machines: 20, readers })
  ground.sink.fault = (phase) => (phase === 'rcpt' && Math.random() < 0.3 ? 'slow' : null)
  const workers: WorkerProcess[] = Array.from({ length: 4 }, () => startWorker(ground, STEADY))
  for (let kill = 0; kill < kills; kill++) {
    await new Promise((later) => setTimeout(later, 300 + Math.random() * 1200))
    const at = Math.floor(Math.random() * workers.length)
    await workers[at]?.kill('SIGKILL')
    workers[at] = startWorker(ground, STEADY)
  }
  ground.sink.fault = () => null
  const worst = await untilSettled(ground, [organisation], 180)
  await Promise.all(workers.map((worker) => worker.kill('SIGTERM')))
  const verdict = await judge(ground, [organisation])
  return end('R1', ground, `kill -9 at random, 4 workers`, kills, verdict, {
    uncertainAllowed: kills * IN_FLIGHT,
    worstRecoverySeconds: worst,
  })
}

/** SIGSTOP in the middle of an attempt until lease and lock are over, then CONT: the woken worker is fenced out. */
export async function standStill(ground: Ground, scale: Scale): Promise<FaultResult> {
  const times = scale === 'full' ? 100 : 1
  const organisations = []
  let worst = 0
  for (let time = 0; time < times; time++) {
    const organisation = await newOrganisation(ground, nextWord(ground), { machines: 4, readers: 12 })
    organisations.push(organisation)
    const reached = new Promise<void>((done) => {
      ground.sink.fault = (phase) => {
        if (phase === (time % 2 ? 'rcpt' : 'greeting')) done()
        return 'slow'
      }
    })
    const sleeper = startWorker(ground)
    await reached
    sleeper.child.kill('SIGSTOP')
    ground.sink.fault = () => null
    const awake = startWorker(ground)
    await new Promise((later) => setTimeout(later, (LEASE_SECONDS + 2.5) * 1000))
    sleeper.child.kill('SIGCONT')
    worst = Math.max(worst, await untilSettled(ground, organisations, PATIENCE_SECONDS))
    await new Promise((later) => setTimeout(later, 1500))
    await Promise.all([sleeper.kill('SIGTERM'), awake.kill('SIGTERM')])
  }
  const verdict = await judge(ground, organisations)
  return end('R3', ground, `SIGSTOP past lease and lock, then CONT (lease ${LEASE_SECONDS} s)`, times, verdict, {
    uncertainAllowed: times * IN_FLIGHT,
    worstRecoverySeconds: worst,
  })
}
