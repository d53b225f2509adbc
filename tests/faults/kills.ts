/** R1, R2, R3: workers that die at random, at named points, or stand still past their lease and wake up. */
import type { MailOrganisation } from '../support/mail-organisation.js'
import type { SmtpPhase } from '../support/smtp-sink.js'
import {
  newOrganisation,
  IN_FLIGHT,
  nextWord,
  pause,
  type Ground,
  LEASE_SECONDS,
  startWorker,
  untilSettled,
  type ServiceProcess,
} from './ground.js'
import { judge, sumOf, type Verdict } from './judge.js'
import { onFreshGround, sideBySide } from './side-by-side.js'
import { type FaultResult, resultOf, type Scale } from './result.js'

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

/** So long a lease that no attempt of a living worker is cut off on a busy machine. */
const STEADY = { SEND_LEASE_SECONDS: '10', SMTP_SILENCE_SECONDS: '8' }
const PATIENCE_SECONDS = 120

/** Which passing of a point a round dies at: a message's points are passed once a message, a lot's twice at least, the others once. */
function passing(point: string, time: number): number {
  if (point === 'before_handing_over_commit') return 1 + (time % 2)
  return /claim|render|handing|data|body|reply|mark/.test(point) ? 1 + (time % 3) : 1
}

interface Deaths {
  injected: number
  worst: number
  faults: string[]
  organisations: MailOrganisation[]
}

/** A worker that dies at one named point; what it was to do is behind it or half done. */
async function dieAt(ground: Ground, point: string, time: number, deaths: Deaths): Promise<MailOrganisation> {
  const organisation = await newOrganisation(ground, nextWord(ground), { machines: 4, readers: 4 })
  deaths.organisations.push(organisation)
  if (point.includes('chunk'))
    await ground.database.withOrganisationSql(organisation.organisationId, (scope) =>
      scope.run('UPDATE warehouse SET evidence_version = 2'),
    )
  const dying = startWorker(ground, { CRASH_AT: `${point}@${passing(point, time)}` })
  const how = await Promise.race([dying.ended, new Promise<string>((done) => setTimeout(() => done('alive'), 60_000))])
  if (how === 'SIGKILL') deaths.injected += 1
  else deaths.faults.push(`${point} was not reached (${how})`)
  await dying.kill('SIGKILL')
  return organisation
}

async function recover(ground: Ground, organisations: MailOrganisation[], deaths: Deaths): Promise<void> {
  const next = startWorker(ground)
  deaths.worst = Math.max(deaths.worst, await untilSettled(ground, organisations, PATIENCE_SECONDS))
  await next.kill('SIGTERM')
}

type Died = Omit<Deaths, 'organisations'> & { verdict: Verdict }

/** One round over all points, each death followed by coming to rest. */
async function roundWithRests(ground: Ground, time: number): Promise<Died> {
  const deaths: Deaths = { injected: 0, worst: 0, faults: [], organisations: [] }
  for (const point of CRASH_POINTS) await recover(ground, [await dieAt(ground, point, time, deaths)], deaths)
  return { ...deaths, verdict: await judge(ground, deaths.organisations) }
}

/** Each next worker first finds what the one before left, and the last one must bring all of it to rest. */
async function roundInARow(ground: Ground, points: readonly string[]): Promise<Died> {
  const deaths: Deaths = { injected: 0, worst: 0, faults: [], organisations: [] }
  for (const point of points) await dieAt(ground, point, 0, deaths)
  await recover(ground, deaths.organisations, deaths)
  return { ...deaths, verdict: await judge(ground, deaths.organisations) }
}

const ROUNDS = 50

/**
 * Dies at each named point. `full`: is started again after each death and must come to rest, fifty rounds, some of them
 * side by side, since most of a round is waiting. `small`: one row of deaths.
 */
export async function crashPoints(ground: Ground, scale: Scale): Promise<FaultResult> {
  // A small run on both backends gives every other point to each.
  const halves = scale === 'small' && process.env.FAULTS_BOTH === '1'
  const points = halves ? CRASH_POINTS.filter((_, index) => (index % 2 === 0) === (ground.backend === 'postgres')) : CRASH_POINTS
  const rounds =
    scale === 'full'
      ? await sideBySide(ROUNDS, (time) => onFreshGround(ground.backend, (own) => roundWithRests(own, time)))
      : [await roundInARow(ground, points)]
  const injected = rounds.reduce((sum, round) => sum + round.injected, 0)
  const came = {
    id: 'R2',
    backend: ground.backend,
    what: `${points.length} named crash points × ${rounds.length}`,
    injected,
    uncertainAllowed: injected * IN_FLIGHT,
    worstRecoverySeconds: Math.max(...rounds.map(({ worst }) => worst)),
    faults: rounds.flatMap(({ faults }) => faults),
  }
  return resultOf(came, sumOf(rounds.map(({ verdict }) => verdict)))
}

/** kill -9 at random moments among four workers while a slow server takes the mails. */
export async function randomKills(ground: Ground, scale: Scale): Promise<FaultResult> {
  const [kills, readers] = scale === 'full' ? [200, 500] : [4, 40]
  const organisation = await newOrganisation(ground, nextWord(ground), { machines: 20, readers })
  ground.sink.fault = (phase) => (phase === 'rcpt' && Math.random() < 0.3 ? 'slow' : null)
  const workers: ServiceProcess[] = Array.from({ length: 4 }, () => startWorker(ground, STEADY))
  for (let kill = 0; kill < kills; kill++) {
    await new Promise((later) => setTimeout(later, 300 + Math.random() * 1200))
    const at = Math.floor(Math.random() * workers.length)
    await workers[at]?.kill('SIGKILL')
    workers[at] = startWorker(ground, STEADY)
  }
  ground.sink.fault = () => null
  const worst = await untilSettled(ground, [organisation], 180)
  await Promise.all(workers.map((worker) => worker.kill('SIGTERM')))
  const what = 'kill -9 at random, 4 workers'
  const came = {
    id: 'R1',
    backend: ground.backend,
    what,
    injected: kills,
    uncertainAllowed: kills * IN_FLIGHT,
    worstRecoverySeconds: worst,
  }
  return resultOf(came, await judge(ground, [organisation]))
}

interface Standing {
  times: number
  stopSeconds: number
  /** The workers' own times where they are not the harness's short ones. */
  env: Record<string, string>
}

const SHORT: Standing = { times: 100, stopSeconds: LEASE_SECONDS + 2.5, env: {} }
/** The lock that production has, and a lease that 90 s outlast. */
const REAL: Standing = { times: 5, stopSeconds: 90, env: { JOB_LOCK_SECONDS: '30', SEND_LEASE_SECONDS: '60', SMTP_SILENCE_SECONDS: '40' } }

interface Stood {
  seconds: number
  verdict: Verdict
}

async function standOnce(ground: Ground, phase: SmtpPhase, { stopSeconds, env }: Standing): Promise<Stood> {
  const organisation = await newOrganisation(ground, nextWord(ground), { machines: 4, readers: 12 })
  const reached = new Promise<void>((done) => {
    ground.sink.fault = (at) => {
      if (at === phase) done()
      return 'slow'
    }
  })
  const sleeper = startWorker(ground, env)
  await reached
  sleeper.child.kill('SIGSTOP')
  ground.sink.fault = () => null
  const awake = startWorker(ground, env)
  await pause(stopSeconds * 1000)
  sleeper.child.kill('SIGCONT')
  const woken = Date.now()
  await untilSettled(ground, [organisation], PATIENCE_SECONDS)
  // What was settled as uncertain may yet be known for certain by the one that slept: what it gives back the other one sends.
  await sleeper.kill('SIGTERM')
  await untilSettled(ground, [organisation], PATIENCE_SECONDS)
  const seconds = (Date.now() - woken) / 1000
  await awake.kill('SIGTERM')
  return { seconds, verdict: await judge(ground, [organisation]) }
}

/** SIGSTOP in the middle of an attempt until lease and lock are over, then CONT: the woken worker is fenced out. */
export async function standStill(ground: Ground, scale: Scale): Promise<FaultResult> {
  const series = scale === 'full' ? [SHORT, REAL] : [{ ...SHORT, times: 1 }]
  const stops = series.flatMap((standing) =>
    Array.from({ length: standing.times }, (_, time) => ({ standing, phase: time % 2 ? ('rcpt' as const) : ('greeting' as const) })),
  )
  const stood = await sideBySide(stops.length, (at) => {
    const { standing, phase } = stops[at] as (typeof stops)[number]
    return onFreshGround(ground.backend, (own) => standOnce(own, phase, standing))
  })
  const what = `SIGSTOP past lease and lock, then CONT: ${series.map(({ times, stopSeconds }) => `${times} × ${stopSeconds} s`).join(', ')}`
  const worst = Math.max(...stood.map(({ seconds }) => seconds))
  const injected = stops.length
  const came = { id: 'R3', backend: ground.backend, what, injected, uncertainAllowed: injected * IN_FLIGHT, worstRecoverySeconds: worst }
  return resultOf(came, sumOf(stood.map(({ verdict }) => verdict)))
}
