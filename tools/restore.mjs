// `npm run restore -- [--from FOLDER] [--at 2026-11-25T09:30:00Z]`: brings the embedded PostgreSQL back to a second (or as far as
// its log reaches). What was there before is moved aside, not removed. Reminders that may have gone out meanwhile are not sent again.
import { spawnSync } from 'node:child_process'
import { createHash } from 'node:crypto'
import {
  appendFileSync,
  chownSync,
  copyFileSync,
  cpSync,
  existsSync,
  lchownSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  renameSync,
  writeFileSync,
} from 'node:fs'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { parseArgs } from 'node:util'
import { archiveFolder } from './backup.mjs'
import { buildIfNeeded } from './build.mjs'
import { serverUser, startPostgres } from './embedded-postgres.mjs'
import { clusterFolder, DATA, runningPort } from './installation.mjs'
import { ensurePackages, hasProgram, root } from './lib.mjs'

/** A long log takes its time. */
const PATIENCE_SECONDS = 1800

function chooseBase(from, at) {
  const names = existsSync(from) ? readdirSync(from).filter((name) => existsSync(join(from, name, 'manifest.json'))) : []
  const bases = names
    .map((name) => ({ folder: join(from, name), ...JSON.parse(readFileSync(join(from, name, 'manifest.json'), 'utf8')) }))
    .filter(({ stoppedAt }) => at === null || Date.parse(stoppedAt) <= at.getTime())
    .sort((a, b) => Date.parse(a.stoppedAt) - Date.parse(b.stoppedAt))
  const base = bases.at(-1)
  if (!base) throw new Error(`There is no backup in ${from}${at ? ` that ended before ${at.toISOString()}` : ''}.`)
  return base
}

/** A copy that was damaged is told before anything is moved. */
function verifyBase({ folder, sums }) {
  const bad = Object.entries(sums).filter(([name, sum]) => {
    const path = join(folder, 'data', name)
    return !existsSync(path) || createHash('sha256').update(readFileSync(path)).digest('hex') !== sum
  })
  if (bad.length > 0)
    throw new Error(
      `The backup ${folder} is damaged: ${bad
        .slice(0, 5)
        .map(([name]) => name)
        .join(', ')}.`,
    )
}

function giveTo(user, folder) {
  chownSync(folder, user.uid, user.gid)
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    const path = join(folder, entry.name)
    if (entry.isDirectory()) giveTo(user, path)
    else lchownSync(path, user.uid, user.gid)
  }
}

/** The last of the log may not be archived yet: it still lies in the old data folder. */
function bringLog({ from, archive, aside, cluster }) {
  mkdirSync(archive, { recursive: true, mode: 0o700 })
  const kept = join(from, 'log')
  for (const name of existsSync(kept) ? readdirSync(kept) : [])
    if (!existsSync(join(archive, name))) copyFileSync(join(kept, name), join(archive, name))
  const old = aside && join(aside, 'pg_wal')
  for (const entry of old && existsSync(old) ? readdirSync(old, { withFileTypes: true }) : [])
    if (entry.isFile() && /^[0-9A-F]{24}$/.test(entry.name)) copyFileSync(join(old, entry.name), join(cluster, 'pg_wal', entry.name))
}

function recoverySettings(archive, at) {
  const read = hasProgram('gzip') ? 'gzip -dc <' : 'cat'
  const command = `${read} "${archive.replaceAll('%', '%%')}/%f.gz" > "%p"`
  const target = at
    ? `recovery_target_time = '${at.toISOString().replace('T', ' ').replace('Z', '+00')}'\nrecovery_target_action = 'promote'\n`
    : ''
  return `\nrestore_command = '${command.replaceAll("'", "''")}'\n${target}`
}

/** @returns {base, lastCommitAt, seconds, settled} */
export async function restore({ data = DATA, from = join(data, 'backups'), at = null, say = () => {} }) {
  const { default: pg } = await import('pg')
  const began = Date.now()
  const asked = join(data, 'postgres')
  const cluster = clusterFolder(asked)
  if (runningPort(cluster)) throw new Error('Tapewarden is running on this data. Stop it first.')
  const base = chooseBase(from, at)
  say(`Looking through ${base.folder} …`)
  verifyBase(base)
  const aside = existsSync(cluster) ? `${cluster}.before-restore-${Date.now().toString(36)}` : null
  if (aside) renameSync(cluster, aside)
  say('Putting the data back …')
  cpSync(join(base.folder, 'data'), cluster, { recursive: true })
  copyFileSync(join(base.folder, 'owner.password'), `${asked}.password`)
  if (!existsSync(join(data, 'secrets.json'))) copyFileSync(join(base.folder, 'secrets.json'), join(data, 'secrets.json'))
  const archive = archiveFolder(cluster)
  bringLog({ from, archive, aside, cluster })
  appendFileSync(join(cluster, 'postgresql.auto.conf'), recoverySettings(archive, at))
  writeFileSync(join(cluster, 'recovery.signal'), '')
  const user = serverUser()
  if (user) for (const folder of [cluster, archive]) giveTo(user, folder)
  say('Reading its log …')
  const server = await startPostgres({ dataDir: asked, readySeconds: PATIENCE_SECONDS, log: say })
  try {
    const client = new pg.Client({ connectionString: server.url })
    await client.connect()
    for (const name of ['restore_command', 'recovery_target_time', 'recovery_target_action'])
      await client.query(`ALTER SYSTEM RESET ${name}`)
    const { rows } = await client.query('SELECT max(at) AS at FROM audit_entry')
    await client.end()
    const appUrl = new URL(server.url)
    appUrl.username = 'tapewarden_app'
    const secrets = JSON.parse(readFileSync(join(data, 'secrets.json'), 'utf8'))
    appUrl.password = secrets.appPassword
    say('Settling what may have been sent meanwhile …')
    const settled = spawnSync(process.execPath, [join(root, 'apps/worker/dist/settle-restored.js')], {
      encoding: 'utf8',
      env: {
        ...process.env,
        TZ: 'UTC',
        LOG_LEVEL: 'error',
        DATABASE_URL: appUrl.href,
        QUEUE_URL: appUrl.href,
        SECRET_KEY: secrets.secretKey,
      },
    })
    if (settled.status !== 0)
      throw new Error(`The reminders could not be settled; do not start before they are:\n${settled.stdout}${settled.stderr}`)
    return { base: base.folder, aside, lastEntryAt: rows[0].at, seconds: (Date.now() - began) / 1000, settled: JSON.parse(settled.stdout) }
  } finally {
    await server.stop()
  }
}

if (import.meta.url === pathToFileURL(process.argv[1]).href) {
  const { values } = parseArgs({ options: { from: { type: 'string' }, at: { type: 'string' } } })
  const at = values.at === undefined ? null : new Date(values.at)
  if (process.env.DATABASE_URL || (at && Number.isNaN(at.getTime()))) {
    console.error(
      at && Number.isNaN(at.getTime())
        ? '--at must be an instant such as 2026-11-25T09:30:00Z.'
        : 'DATABASE_URL names a server of yours: restore it with its own programs (docs/operations.md, Backup).',
    )
    process.exit(2)
  }
  const say = (line) => console.error(line)
  await ensurePackages(say)
  await buildIfNeeded(say)
  const { base, aside, lastEntryAt, seconds, settled } = await restore({ ...(values.from ? { from: values.from } : {}), at, say })
  console.log(
    `Restored from ${base} in ${seconds.toFixed(1)} s; the newest entry of the audit is of ${lastEntryAt?.toISOString() ?? 'no time: there is none'}.`,
  )
  console.log(
    `${settled.messages} mails and ${settled.reminders} reminders may have gone out before: they are not sent again, but told once as such.`,
  )
  if (aside) console.log(`What was there before is in ${aside}.`)
}
