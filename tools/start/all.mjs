// Database, mailbox, migrations, demo, api, worker: in this order, each ready before the next.
import { randomBytes } from 'node:crypto'
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { startPostgres } from '../embedded-postgres.mjs'
import { freePort, reservePort, run, WORKER_ENV, WORKER_FLAGS } from '../lib.mjs'
import { loadDemo } from './demo.mjs'
import { AUTHORITY_PATH, findLan, startTls } from './lan.mjs'
import { startProcess, waitUntilReady } from './processes.mjs'

/** Secrets of this checkout's trial installation, made once. */
function keepSecrets(dataDir) {
  const path = join(dataDir, 'secrets.json')
  if (existsSync(path)) return JSON.parse(readFileSync(path, 'utf8'))
  const secrets = { appPassword: randomBytes(24).toString('base64url'), secretKey: randomBytes(32).toString('base64url') }
  mkdirSync(dataDir, { recursive: true })
  writeFileSync(path, JSON.stringify(secrets), { mode: 0o600 })
  return secrets
}

/** With the embedded server, or one that DATABASE_URL names: the owner's address and the application's. */
async function findDatabase({ settings, running, say, dataDir, secrets }) {
  if (settings.ownerUrl) return { ownerUrl: settings.ownerUrl, appUrl: settings.databaseUrl, setAppPassword: false }
  let ownerUrl = settings.databaseUrl
  if (!ownerUrl) {
    say('Starting the database …')
    const server = await startPostgres({ dataDir: join(dataDir, 'postgres'), log: say })
    running.add('database', () => server.stop())
    ownerUrl = server.url
  }
  const appUrl = new URL(ownerUrl)
  appUrl.username = 'tapewarden_app'
  appUrl.password = secrets.appPassword
  return { ownerUrl, appUrl: appUrl.href, setAppPassword: true }
}

async function findMailbox({ settings, running, dataDir }) {
  if (settings.smtpUrl) return { smtpUrl: settings.smtpUrl, pageUrl: null }
  const { startMailbox } = await import('../mailbox.mjs')
  const page = await reservePort(8322)
  running.add('port of the mailbox', () => page.release())
  const mailbox = await startMailbox({ smtpPort: await freePort(0), httpPort: page.port, dir: join(dataDir, 'mail') })
  running.add('mailbox', () => mailbox.stop())
  return mailbox
}

async function findPort(settings, running) {
  if (settings.port !== null) {
    if ((await freePort(settings.port, settings.port + 1).catch(() => 0)) !== settings.port)
      throw new Error(`Port ${settings.port} is taken. Name another with -- --port N, or none.`)
    return settings.port
  }
  const { port, release } = await reservePort(8321)
  running.add('port of the pages', release)
  return port
}

/**
 * @param demo 'full', 'empty' or 'none'; loaded only into a database without an organisation
 * @param extraEnv further settings of api and worker (the clock of a smoke run)
 * @returns addresses and sign-ins
 */
export async function startAll({ settings, running, say, dataDir, demo, onEnd, extraEnv = {} }) {
  const secrets = keepSecrets(dataDir)
  const database = await findDatabase({ settings, running, say, dataDir, secrets })
  const mailbox = await findMailbox({ settings, running, dataDir })

  say('Bringing the database up to date …')
  const migrateEnv = { ...process.env, ...extraEnv, DATABASE_OWNER_URL: database.ownerUrl }
  if (database.setAppPassword) migrateEnv.DATABASE_APP_PASSWORD = secrets.appPassword
  await run(process.execPath, ['libs/persistence/dist/migrate/cli.js'], { env: migrateEnv })

  const port = await findPort(settings, running)
  const workerPort = await freePort(0)
  const publicUrl = `http://127.0.0.1:${port}`
  // Links in mails and printed labels then lead to the address that phones reach.
  const lan = settings.lan ? await findLan() : null
  const lanUrl = lan && `https://${lan.address}:${lan.tlsPort}`
  const env = {
    ...process.env,
    TZ: 'UTC',
    NODE_ENV: process.env.NODE_ENV ?? 'development',
    DATABASE_URL: database.appUrl,
    QUEUE_URL: settings.queueUrl ?? database.appUrl,
    SMTP_URL: mailbox.smtpUrl,
    SECRET_KEY: process.env.SECRET_KEY ?? secrets.secretKey,
    PUBLIC_URL: process.env.PUBLIC_URL ?? lanUrl ?? publicUrl,
    MAIL_FROM: process.env.MAIL_FROM ?? 'Tapewarden <tapewarden@tapewarden.example>',
    HOST: process.env.HOST ?? '127.0.0.1',
    ...extraEnv,
  }
  const signIns = demo === 'none' ? [] : await loadDemo({ env, dataDir, kind: demo, say })

  let failed = null
  const onProcessEnd = (why) => {
    failed ??= why
    onEnd(why)
  }
  say('Starting api and worker …')
  const api = startProcess('api', 'apps/api/dist/whole/main.js', { ...env, PORT: String(port) }, { dataDir, onEnd: onProcessEnd })
  running.add('api', () => api.stop())
  const worker = startProcess(
    'worker',
    'apps/worker/dist/whole/main.js',
    { ...WORKER_ENV, ...env, PORT: String(workerPort) },
    { dataDir, onEnd: onProcessEnd, flags: WORKER_FLAGS },
  )
  running.add('worker', () => worker.stop())
  await waitUntilReady('api', `${publicUrl}/health/ready`, 180, () => failed)
  await waitUntilReady('worker', `http://127.0.0.1:${workerPort}/health/ready`, 180, () => failed)
  if (lan) {
    const tls = await startTls({ dataDir, address: lan.address, port, tlsPort: lan.tlsPort })
    running.add('TLS', () => tls.stop())
  }
  const shown = lanUrl ?? publicUrl
  return {
    urls: {
      desk: `${shown}/`,
      onSite: `${shown}/hand.html`,
      api: `${publicUrl}/api/v1`,
      docs: `${publicUrl}/docs`,
      openapi: `${publicUrl}/openapi.json`,
      health: `${publicUrl}/health/ready`,
      workerHealth: `http://127.0.0.1:${workerPort}/health/ready`,
      mailbox: mailbox.pageUrl,
      ...(lan ? { authority: `${shown}${AUTHORITY_PATH}` } : {}),
    },
    signIns,
  }
}
