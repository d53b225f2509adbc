/** What a fault run stands on: a real PostgreSQL, a queue of either backend, a sink, and real worker processes. */
import { type ChildProcess, spawn } from 'node:child_process'
import { mkdtempSync, openSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { Database } from '@tapewarden/persistence'
import { insertMailOrganisation, MAIL_NOW, type MailOrganisation } from '../support/mail-organisation.js'
import { startTestRedis, type TestRedis } from '../support/redis.js'
import { type SmtpSink, startSmtpSink } from '../support/smtp-sink.js'

export const root = process.env.TAPEWARDEN_ROOT ?? resolve('.')

export interface Postgres {
  url: string
  stop(): Promise<void>
}

export interface Ground {
  backend: 'postgres' | 'redis'
  database: Database
  sink: SmtpSink
  redis: TestRedis | null
  env: Record<string, string>
  logFolder: string
  /** Shift that makes the workers' clock begin at the mail organisation's working hour. */
  offsetMs: number
  close(): Promise<void>
}

export const LEASE_SECONDS = 3

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
  }
  return {
    backend,
    database,
    sink,
    redis,
    env,
    logFolder,
    offsetMs,
    async close() {
      await database.close()
      await sink.stop()
      await redis?.stop()
      rmSync(logFolder, { recursive: true, force: true })
    },
  }
}

export interface WorkerProcess {
  child: ChildProcess
  ended: Promise<string>
  kill(signal: NodeJS.Signals): Promise<void>
}

let started = 0

/** A worker as production runs it; its standard input is a life-line to us. */
export function startWorker(ground: Ground, more: Record<string, string> = {}): WorkerProcess {
  const log = openSync(join(ground.logFolder, `worker-${++started}.log`), 'a')
  const child = spawn(process.execPath, [join(root, 'apps/worker/dist/main.js')], {
    cwd: root,
    env: { ...ground.env, PARENT_WATCH: '1', ...more },
    stdio: ['pipe', log, log],
  })
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
    await new Promise((later) => setTimeout(later, 100))
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
