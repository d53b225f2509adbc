// `npm run drill -- [--rows 1000000] [--times 3] [--write-seconds 235,120,300] [--json]`: losing everything, rehearsed. An embedded installation
// of its own is filled, backed up, written to at a steady rate and killed. What is measured: how much of what was acknowledged is lost
// where only the backup and the archived log are left, how long it takes until the first request is answered again, whether a
// restore to an instant holds exactly what was there then, and whether any mail that went out before goes out again.
import { cpSync, mkdtempSync, readdirSync, renameSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { basename, dirname, join } from 'node:path'
import { parseArgs } from 'node:util'
import { archiveFolder, takeBackup } from './backup.mjs'
import { buildIfNeeded } from './build.mjs'
import { countRows, fill } from './drill/fill.mjs'
import { bystanders, killAll } from './drill/loss.mjs'
import { judgeInstant, judgeLoss, writeOn } from './drill/writer.mjs'
import { clusterFolder, openDatabase } from './installation.mjs'
import { ensurePackages } from './lib.mjs'
import { restore } from './restore.mjs'
import { startAll } from './start/all.mjs'
import { ApiClient, until } from './start/client.mjs'
import { Running } from './start/processes.mjs'

/** A working morning in every warehouse of the demo, so that digests have gone out. */
const TODAY = '2026-03-04'
const WORKING_HOUR = `${TODAY}T15:00:00Z`
const QUIET_MS = 8000
/** Several sweeps of the worker. */
const WATCHED_MS = 15_000
const PATIENCE_SECONDS = 1800
const SETTINGS = { port: null, portIsFixed: false, databaseUrl: null, ownerUrl: null, queueUrl: null, smtpUrl: null }
const wait = (ms) => new Promise((later) => setTimeout(later, ms))

async function withOwner(dataDir, use) {
  const { default: pg } = await import('pg')
  const database = await openDatabase({ data: dataDir })
  const client = new pg.Client({ connectionString: database.ownerUrl })
  await client.connect()
  try {
    return await use(client)
  } finally {
    await client.end()
    await database.stop()
  }
}

class Drill {
  said = new Set()

  constructor({ rows, writeSeconds, say }) {
    Object.assign(this, { rows, writeSeconds, say })
    this.dataDir = mkdtempSync(join(tmpdir(), 'tapewarden-drill-'))
    this.env = { LOG_LEVEL: 'warn', SWEEP_SECONDS: '2', CLOCK_OFFSET: `${Math.round((Date.parse(WORKING_HOUR) - Date.now()) / 60_000)}m` }
    // What settles a restored installation must see the same day.
    Object.assign(process.env, this.env)
  }

  get cluster() {
    return clusterFolder(join(this.dataDir, 'postgres'))
  }

  async start() {
    this.kept = bystanders()
    this.running = new Running()
    const { settings, running, dataDir, env } = { settings: SETTINGS, running: this.running, dataDir: this.dataDir, env: this.env }
    const started = await startAll({ settings, running, say: () => {}, dataDir, demo: 'full', onEnd: () => {}, extraEnv: env })
    this.mailbox = started.urls.mailbox
    this.client = new ApiClient(started.urls.desk.replace(/\/$/, ''))
    await this.client.signIn(started.signIns.find(({ role }) => role === 'manager'))
    await this.client.get('/api/v1/me')
  }

  /** Mails by what they say of themselves: the mailbox numbers anew after a start. @returns how many were not known before */
  async newMails() {
    const list = await (await fetch(new URL('/messages', this.mailbox))).json()
    const before = this.said.size
    for (const { id } of list) {
      const raw = await (await fetch(new URL(`/mails/${id}/raw`, this.mailbox))).text()
      this.said.add(/^message-id:\s*(\S+)/im.exec(raw)?.[1] ?? raw.slice(0, 500))
    }
    return this.said.size - before
  }

  async quiet() {
    const upToDate = async () => (await this.client.all('/api/v1/warehouses')).every(({ upToDate }) => upToDate)
    await until('all dates', PATIENCE_SECONDS, upToDate)
    do await wait(QUIET_MS)
    while ((await this.newMails()) > 0)
  }

  async prepare() {
    this.say('Starting an installation of its own …')
    await this.start()
    this.say(`Filling it with ${this.rows} rows …`)
    const filled = await withOwner(this.dataDir, (client) => fill(client, { rows: this.rows, lastDay: TODAY, say: this.say }))
    this.say('Waiting until all dates are worked out and all mails have gone out …')
    await until('the first mails', PATIENCE_SECONDS, async () => (await this.newMails()) > 0)
    await this.quiet()
    return { ...filled, mails: this.said.size, ...(await withOwner(this.dataDir, countRows)) }
  }

  present(prefix) {
    return withOwner(this.dataDir, async (client) => {
      const { rows } = await client.query(`SELECT name FROM part WHERE name LIKE $1 || ' %'`, [prefix])
      return new Set(rows.map(({ name }) => name))
    })
  }

  async loseAll(writer) {
    const stopped = writer.stop()
    const lostAt = Date.now()
    await killAll(this.kept)
    await stopped
    await this.running.stop()
    return lostAt
  }

  /** @returns mails that went out again */
  async watch() {
    await wait(WATCHED_MS)
    return this.newMails()
  }

  async once(number) {
    const writeSeconds = this.writeSeconds[(number - 1) % this.writeSeconds.length]
    const prefix = `Drill ${number}`
    const { folder, seconds: backupSeconds, bytes } = await takeBackup({ data: this.dataDir })
    this.say(
      `Drill ${number}: backed up ${(bytes / 1e6).toFixed(0)} MB in ${backupSeconds.toFixed(1)} s; writing on for ${writeSeconds} s …`,
    )
    const writer = writeOn(this.client, prefix)
    await wait(writeSeconds * 1000)
    await this.newMails()
    const lostAt = await this.loseAll(writer)
    const [cluster, archive] = [this.cluster, archiveFolder(this.cluster)]
    const [lostCluster, keptArchive] = [`${cluster}.lost`, `${archive}.kept`]
    cpSync(archive, keptArchive, { recursive: true, preserveTimestamps: true })
    renameSync(cluster, lostCluster)

    const toTheEnd = await restore({ data: this.dataDir })
    await this.start()
    const recoveryTimeSeconds = (Date.now() - lostAt) / 1000
    const loss = judgeLoss(writer.rows, await this.present(prefix), lostAt)
    let sentAgain = await this.watch()
    const { rows } = await withOwner(this.dataDir, countRows)
    await this.running.stop()
    this.say(
      `  back after ${recoveryTimeSeconds.toFixed(1)} s, ${loss.missing} of ${loss.acknowledged} lost, the oldest ${loss.recoveryPointSeconds.toFixed(1)} s old`,
    )

    // Once more, with what the server had left behind, to a second in the middle.
    for (const folder of [cluster, archive]) rmSync(folder, { recursive: true, force: true })
    renameSync(lostCluster, cluster)
    renameSync(keptArchive, archive)
    const middle = writer.rows[Math.floor(writer.rows.length / 2)]
    const at = new Date(Math.floor(middle.acknowledgedAt / 1000) * 1000)
    const toTheSecond = await restore({ data: this.dataDir, at })
    rmSync(toTheSecond.aside, { recursive: true, force: true })
    const instant = judgeInstant(writer.rows, await this.present(prefix), at.getTime())
    rmSync(folder, { recursive: true, force: true })
    await this.start()
    sentAgain += await this.watch()
    this.say(
      `  to ${at.toISOString()}: ${instant.before - instant.missing} of ${instant.before} there, ${instant.tooMany} of ${instant.after} too many; ${sentAgain} mails again`,
    )
    return {
      drill: number,
      rows,
      writeSeconds,
      backupSeconds,
      backupMegabytes: bytes / 1e6,
      ...loss,
      recoveryTimeSeconds,
      restoreSeconds: toTheEnd.seconds,
      instant: { ...instant, restoreSeconds: toTheSecond.seconds },
      sentAgain,
    }
  }

  async end() {
    await this.running?.stop()
    // As root the data lies in a cache folder, with its archive and what was moved aside beside it.
    const [folder, name] = [dirname(this.cluster), basename(this.cluster)]
    for (const entry of readdirSync(folder).filter((one) => one === name || one.startsWith(`${name}.`)))
      rmSync(join(folder, entry), { recursive: true, force: true })
    rmSync(this.dataDir, { recursive: true, force: true })
  }
}

/**
 * @param writeSeconds how long each drill writes on before the loss, in turn; just before the log's next file is archived most is lost
 * @returns {prepared, drills}: what each measured, seconds throughout
 */
export async function drill({ rows, times, writeSeconds, say }) {
  const one = new Drill({ rows, writeSeconds, say })
  try {
    const prepared = await one.prepare()
    const drills = []
    for (let number = 1; number <= times; number++) drills.push(await one.once(number))
    return { prepared, drills }
  } finally {
    await one.end()
  }
}

if (process.argv[1] === import.meta.filename) {
  const { values } = parseArgs({
    options: {
      rows: { type: 'string', default: '1000000' },
      times: { type: 'string', default: '3' },
      'write-seconds': { type: 'string', default: '235,120,300' },
      json: { type: 'boolean' },
    },
  })
  const [rows, times] = [values.rows, values.times].map(Number)
  const writeSeconds = values['write-seconds'].split(',').map(Number)
  if (process.env.DATABASE_URL || ![rows, times, ...writeSeconds].every((one) => Number.isInteger(one) && one > 0)) {
    console.error(
      process.env.DATABASE_URL
        ? 'DATABASE_URL names a server of yours: this rehearses with the embedded one alone.'
        : '--rows and --times are whole numbers above 0, --write-seconds some of them with commas, one for each drill in turn.',
    )
    process.exit(2)
  }
  const say = (line) => console.error(line)
  await ensurePackages(say)
  await buildIfNeeded(say)
  const result = await drill({ rows, times, writeSeconds, say })
  console.log(JSON.stringify(result, null, values.json ? 2 : 0))
  const bad = result.drills.filter(({ gaps, instant, sentAgain }) => gaps + instant.missing + instant.tooMany + sentAgain > 0)
  if (bad.length > 0) console.error(`Not as promised: drill ${bad.map(({ drill: number }) => number).join(', ')}.`)
  process.exit(bad.length > 0 ? 1 : 0)
}
