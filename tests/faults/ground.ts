/** What a fault run stands on: a real PostgreSQL, a queue of either backend, a sink, and real worker processes. */
import { type ChildProcess, spawn } from 'node:child_process'
import { closeSync, mkdtempSync, openSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { Database } from '@tapewarden/persistence'
import { insertMailOrganisation, MAIL_NOW, type MailOrganisation } from '../support/mail-organisation.js'
import { freePort, startTestRedis, type TestRedis } from '../support/redis.js'
import { type SmtpSink, startSmtpSink } from '../support/smtp-sink.js'

export const root = process.env.TAPEWARDEN_ROOT ?? resolve('.')

export interface Ground {
  backend: 'postgres' | 'redis'
  database: Database
  sink: SmtpSink
  redis: TestRedis | null
  env: Record<string, string>
  logFolder: string
  /** Set where a verdict needs looking into. */
  keepLogs: boolean
  /** Shift that makes the workers' clock begin at the mail organisation's working hour. */
  offsetMs: number
  close(): Promise<void>
}

export const LEASE_SECONDS = 3
/** Messages that one worker can have between 'handing over' and 'sent' at once. */
export const IN_FLIGHT = 16
export const pause = (ms: number) => new Promise<void>((later) => setTimeout(later, ms))

export async function openGround(backend: Ground['backend'], databaseUrl: string): Promise<Ground> {
  const sink = await startSmtpSink()
  const redis = backend === 'redis' ? await startTestRedis() : null
  const database = await Database.open({ url: databaseUrl, applicationName: 'fault harness', most: 6 })
  const offsetMs = MAIL_NOW.getTime() - Date.now()
  const logFolder = mkdtempSync(join(tmpdir(), 'tapewarden-faults-'))
  const env = {
    PATH: process.env.PATH ?? '',
    TZ: 'UTC',
    NODE_ENV: 'test',
    DATABASE_URL: databaseUrl,
    QUEUE_URL: redis?.url ?? databaseUrl,
    SMTP_URL: sink.url,
    SECRET_KEY: 'only-for-tests-'.repeat(3),
    PUBLIC_URL: 'https://care.example',
    MAIL_FROM: 'Tapewarden <care@care.example>',
    HOST: '127.0.0.1',
    PORT: '0',
    LOG_LEVEL: 'info',
    CLOCK_OFFSET: String(offsetMs),
    SWEEP_SECONDS: '1',
    JOB_LOCK_SECONDS: '3',
    SEND_LEASE_SECONDS: String(LEASE_SECONDS),
    SMTP_SILENCE_SECONDS: '1.5',
    SEND_RETRY_SECONDS: '5',
  }
  const ground: Ground = {
    backend,
    database,
    sink,
    redis,
    env,
    logFolder,
    keepLogs: Boolean(process.env.FAULTS_KEEP_LOGS),
    offsetMs,
    async close() {
      await database.close()
      await sink.stop()
      await redis?.stop()
      if (ground.keepLogs) console.error(`The processes’ logs are in ${logFolder}.`)
      else rmSync(logFolder, { recursive: true, force: true })
    },
  }
  return ground
}

export interface ServiceProcess {
  child: ChildProcess
  ended: Promise<string>
  kill(signal: NodeJS.Signals): Promise<void>
}

let words = 0
/** A name that no earlier organisation of any run has; it stands in labels and addresses. */
export const nextWord = (ground: Ground) => `${ground.backend.slice(0, 2)}${(++words).toString(36)}${Date.now().toString(36).slice(-4)}`

let started = 0

/** A process of ours as production runs it; its standard input is a life-line to us. */
function startProcess(ground: Ground, app: 'api' | 'worker', more: Record<string, string>, before: string[] = []): ServiceProcess {
  const log = openSync(join(ground.logFolder, `${app}-${++started}.log`), 'a')
  const child = spawn(process.execPath, [...before, join(root, `apps/${app}/dist/whole/main.js`)], {
    cwd: root,
    env: { ...ground.env, PARENT_WATCH: '1', ...more },
    stdio: ['pipe', log, log],
  })
  closeSync(log)
  const ended = new Promise<string>((done) => child.once('exit', (code, signal) => done(signal ?? String(code))))
  return {
    child,
    ended,
    async kill(signal) {
      if (child.exitCode !== null || child.signalCode !== null) return
      child.kill(signal)
      await ended
    },
  }
}

/** @param before words for Node itself, such as a module to load first */
export function startWorker(ground: Ground, more: Record<string, string> = {}, before: string[] = []): ServiceProcess {
  return startProcess(ground, 'worker', more, before)
}

export interface ApiProcess extends ServiceProcess {
  port: number
}

/** An api on a free port; returns at once, see untilReady. */
export async function startApi(ground: Ground, more: Record<string, string> = {}): Promise<ApiProcess> {
  const port = await freePort()
  return { port, ...startProcess(ground, 'api', { PORT: String(port), ...more }) }
}

export async function untilReady({ port, ended }: ApiProcess, seconds = 180): Promise<void> {
  const end = Date.now() + seconds * 1000
  let over = ''
  void ended.then((how) => (over = how))
  for (;;) {
    const answer = await fetch(`http://127.0.0.1:${port}/health/ready`, { signal: AbortSignal.timeout(2000) }).catch(() => null)
    if (answer?.status === 200) return
    if (over !== '') throw new Error(`The api ended (${over}) before it was ready.`)
    if (Date.now() > end) throw new Error(`The api was not ready within ${seconds} s.`)
    await pause(100)
  }
}

export function newOrganisation(
  ground: Ground,
  word: string,
  asked: Parameters<typeof insertMailOrganisation>[2],
): Promise<MailOrganisation> {
  return insertMailOrganisation(ground.database, word, asked)
}

/** @returns seconds waited; throws with what is still open when it never comes to rest */
export async function untilSettled(ground: Ground, organisations: readonly MailOrganisation[], seconds: number): Promise<number> {
  const began = Date.now()
  let left: string
  do {
    await pause(100)
    left = await openWork(ground, organisations)
    if (left === '') return (Date.now() - began) / 1000
  } while (Date.now() - began < seconds * 1000)
  throw new Error(`After ${seconds} s there is still ${left}.`)
}

async function openWork({ database }: Ground, organisations: readonly MailOrganisation[]): Promise<string> {
  for (const { organisationId, reminderIds } of organisations) {
    const [row] = await database.withOrganisationSql(organisationId, (scope) =>
      scope.rows<{ unsaid: number; moving: number; behind: number }>(
        `SELECT (SELECT count(*)::int FROM reminder WHERE id = ANY($1::uuid[]) AND message_id IS NULL AND dropped_reason IS NULL) AS unsaid,
           (SELECT count(*)::int FROM message WHERE state IN ('pending', 'claimed', 'handing_over')) AS moving,
           (SELECT count(*)::int FROM warehouse WHERE planned_version < evidence_version) AS behind`,
        [reminderIds],
      ),
    )
    if (row && row.unsaid + row.moving + row.behind > 0)
      return `${row.unsaid} reminders unsaid, ${row.moving} messages under way, ${row.behind} warehouses behind`
  }
  return ''
}
