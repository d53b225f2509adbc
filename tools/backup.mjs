// `npm run backup -- [--to FOLDER]`: a base backup of the embedded PostgreSQL while it runs, and its log archived from then on,
// so that `npm run restore` can bring back any second since. By the server's own functions: it needs no client programs.
import { createHash } from 'node:crypto'
import {
  chownSync,
  copyFileSync,
  createReadStream,
  createWriteStream,
  existsSync,
  mkdirSync,
  readdirSync,
  statSync,
  writeFileSync,
} from 'node:fs'
import { join, relative } from 'node:path'
import { pipeline } from 'node:stream/promises'
import { pathToFileURL } from 'node:url'
import { parseArgs } from 'node:util'
import { serverUser } from './embedded-postgres.mjs'
import { clusterFolder, DATA, openDatabase } from './installation.mjs'
import { hasProgram } from './lib.mjs'

/** At most so much is lost with the machine, where the archive lies elsewhere. */
const ARCHIVE_EVERY_SECONDS = 240
/** Folders whose content belongs to the running server alone; they are kept empty. */
const EMPTIED = ['pg_wal', 'pg_replslot', 'pg_dynshmem', 'pg_notify', 'pg_serial', 'pg_snapshots', 'pg_stat_tmp', 'pg_subtrans']
const LEFT_OUT = new Set(['postmaster.pid', 'postmaster.opts', 'recovery.signal', 'standby.signal', 'current_logfiles'])

/** Where the log is archived: beside the data, where the server's user may write. */
export function archiveFolder(cluster) {
  return `${cluster}.archive`
}

const quoted = (text) => `"${text.replaceAll('%', '%%')}"`
export function archiveCommand(folder) {
  const write = hasProgram('gzip') ? 'gzip -1 <' : 'cat'
  return `test -e ${quoted(folder)}/%f.gz || ( ${write} "%p" > ${quoted(folder)}/%f.part && mv ${quoted(folder)}/%f.part ${quoted(folder)}/%f.gz )`
}

async function copyWithHash(from, to) {
  const hash = createHash('sha256')
  const source = createReadStream(from)
  source.on('data', (chunk) => hash.update(chunk))
  await pipeline(source, createWriteStream(to, { mode: 0o600 }))
  return hash.digest('hex')
}

/** Copies the data folder while the server writes to it; what the copy misses stands in the log. */
async function copyData(cluster, target, folder = cluster, sums = {}) {
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    const from = join(folder, entry.name)
    const name = relative(cluster, from)
    const to = join(target, name)
    if (LEFT_OUT.has(name) || entry.name.startsWith('pgsql_tmp') || (EMPTIED.includes(name.split('/')[0]) && !EMPTIED.includes(name)))
      continue
    try {
      if (entry.isDirectory()) {
        mkdirSync(to, { recursive: true, mode: 0o700 })
        await copyData(cluster, target, from, sums)
      } else if (entry.isFile()) sums[name] = await copyWithHash(from, to)
      else throw new Error(`${from} is neither a file nor a folder: tablespaces are not backed up by this script.`)
    } catch (error) {
      // A table was dropped meanwhile.
      if (error.code !== 'ENOENT') throw error
    }
  }
  return sums
}

function copyArchive(from, to) {
  mkdirSync(to, { recursive: true, mode: 0o700 })
  for (const name of readdirSync(from))
    if (name.endsWith('.gz') && !existsSync(join(to, name))) copyFileSync(join(from, name), join(to, name))
}

/** @returns {folder, startedAt, stoppedAt, bytes, seconds} */
export async function takeBackup({ data = DATA, to = join(data, 'backups'), say = () => {} }) {
  const { default: pg } = await import('pg')
  const began = Date.now()
  const cluster = clusterFolder(join(data, 'postgres'))
  const database = await openDatabase({ data, log: say })
  const client = new pg.Client({ connectionString: database.ownerUrl })
  await client.connect()
  try {
    const archive = archiveFolder(cluster)
    mkdirSync(archive, { recursive: true, mode: 0o700 })
    const user = serverUser()
    if (user) chownSync(archive, user.uid, user.gid)
    const { rows: modes } = await client.query('SHOW archive_mode')
    if (modes[0].archive_mode !== 'on')
      throw new Error('The server was started before it could archive: stop Tapewarden, start it once more, and back up again.')
    await client.query(`ALTER SYSTEM SET archive_command = ${client.escapeLiteral(archiveCommand(archive))}`)
    await client.query(`ALTER SYSTEM SET archive_timeout = ${ARCHIVE_EVERY_SECONDS}`)
    await client.query('SELECT pg_reload_conf()')
    const name = `base-${new Date().toISOString().replace(/[:.]/g, '-')}`
    const folder = join(to, name)
    mkdirSync(join(folder, 'data'), { recursive: true, mode: 0o700 })
    say('Copying the data …')
    const { rows: starts } = await client.query(`SELECT pg_backup_start($1, true) AS at, clock_timestamp() AS now`, [name])
    const sums = await copyData(cluster, join(folder, 'data'))
    say('Waiting until its log is archived …')
    const { rows: stops } = await client.query('SELECT labelfile, clock_timestamp() AS now FROM pg_backup_stop(true)')
    writeFileSync(join(folder, 'data', 'backup_label'), stops[0].labelfile, { mode: 0o600 })
    copyFileSync(`${join(data, 'postgres')}.password`, join(folder, 'owner.password'))
    copyFileSync(join(data, 'secrets.json'), join(folder, 'secrets.json'))
    copyArchive(archive, join(to, 'log'))
    const bytes = Object.keys(sums).reduce((sum, file) => sum + statSync(join(folder, 'data', file)).size, 0)
    const manifest = { startedAt: starts[0].now, stoppedAt: stops[0].now, bytes, sums }
    writeFileSync(join(folder, 'manifest.json'), JSON.stringify(manifest), { mode: 0o600 })
    return { folder, startedAt: starts[0].now, stoppedAt: stops[0].now, bytes, seconds: (Date.now() - began) / 1000 }
  } finally {
    await client.end()
    await database.stop()
  }
}

if (import.meta.url === pathToFileURL(process.argv[1]).href) {
  const { values } = parseArgs({ options: { to: { type: 'string' } } })
  if (process.env.DATABASE_URL) {
    console.error('DATABASE_URL names a server of yours: back it up with its own programs (docs/operations.md, Backup).')
    process.exit(2)
  }
  const say = (line) => console.error(line)
  const { folder, bytes, seconds } = await takeBackup({ ...(values.to ? { to: values.to } : {}), say })
  console.log(
    `Backed up to ${folder}: ${(bytes / 1e6).toFixed(0)} MB in ${seconds.toFixed(1)} s. The log is archived from now on, every ${ARCHIVE_EVERY_SECONDS} s at the latest.`,
  )
}
