// `npm run faults -- --json [--only R1,R2,…] [--scale small|full] [--backend postgres|redis] [--at-once N]`: real processes, real PostgreSQL, faults, and a ledger outside that decides.
import { randomBytes } from 'node:crypto'
import { chmodSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { buildIfNeeded } from './build.mjs'
import { startPostgres } from './embedded-postgres.mjs'
import { ensurePackages, hasProgram, root, run } from './lib.mjs'

/** Each kind with the backends on which `small` runs it; `full` runs each on both. Some mean nothing on PostgreSQL. */
const KINDS = {
  R1: ['postgres', 'redis'],
  R2: ['postgres', 'redis'],
  R3: ['redis'],
  R4: ['redis'],
  R5: ['postgres', 'redis'],
  R6: ['redis'],
  R7: ['postgres'],
  R8: ['redis'],
  R10: ['postgres'],
  R11: ['redis'],
  R14: ['postgres'],
  ALARM: ['redis'],
}
const ALL = Object.keys(KINDS)
const BOTH = ['postgres', 'redis']
const { values } = parseArgs({
  options: {
    json: { type: 'boolean' },
    only: { type: 'string' },
    scale: { type: 'string', default: 'small' },
    backend: { type: 'string' },
    'at-once': { type: 'string' },
  },
})
const asked = (values.only ?? ALL.join(',')).split(',')
const unknown = asked.filter((id) => !ALL.includes(id))
if (unknown.length > 0 || !['small', 'full'].includes(values.scale) || (values.backend && !BOTH.includes(values.backend))) {
  console.error(
    `Not known: ${unknown.join(', ') || values.scale}. Kinds: ${ALL.join(', ')}; scales: small, full; backends: postgres, redis.`,
  )
  process.exit(2)
}

/** A kind whose run itself ended with an error. */
const NO_END = {
  what: 'did not come to an end',
  injected: 0,
  reminders: 0,
  writes: 0,
  lost: 0,
  doubled: 0,
  uncertain: 0,
  uncertainAllowed: 0,
  worstRecoverySeconds: 0,
  passed: false,
}

const say = (line) => console.error(line)
await ensurePackages(say)
await buildIfNeeded(say)
await run(process.execPath, ['node_modules/typescript7/bin/tsc', '-p', 'tests/faults/tsconfig.json'])

const haveRedis = hasProgram('redis-server') || hasProgram('valkey-server')
/** A kind that small tries on one backend alone is tried on the other where that is asked for or the only one. */
function backendsOf(id) {
  if (values.backend) return [values.backend]
  const wanted = values.scale === 'full' ? BOTH : KINDS[id]
  const found = wanted.filter((backend) => backend !== 'redis' || haveRedis)
  return found.length > 0 ? found : ['postgres']
}
if (!haveRedis && values.backend !== 'postgres') say('SKIPPED on Redis: neither redis-server nor valkey-server is on the PATH.')

const folder = mkdtempSync(join(tmpdir(), 'tapewarden-faults-'))
chmodSync(folder, 0o755)
const server = await startPostgres({ dataDir: join(folder, 'data'), forTests: true })
const began = Date.now()
const results = []
try {
  const { Client } = await import('pg')
  const owner = new Client({ connectionString: server.url })
  await owner.connect()
  await owner.query('CREATE DATABASE faults_template')
  await owner.end()
  const template = new URL(server.url)
  template.pathname = '/faults_template'
  const password = randomBytes(18).toString('base64url')
  await run(process.execPath, ['libs/persistence/dist/migrate/cli.js'], {
    env: { ...process.env, DATABASE_OWNER_URL: template.href, DATABASE_APP_PASSWORD: password },
  })
  const env = {
    ...process.env,
    TZ: 'UTC',
    TAPEWARDEN_ROOT: root,
    FAULTS_BOTH: haveRedis && !values.backend ? '1' : '0',
    FAULTS_OWNER_URL: server.url,
    FAULTS_TEMPLATE: 'faults_template',
    FAULTS_APP_PASSWORD: password,
  }
  const tasks = ALL.filter((id) => asked.includes(id)).flatMap((id) => backendsOf(id).map((backend) => ({ id, backend })))
  const runOne = async ({ id, backend }) => {
    let last = 'null'
    const log = (line) => (/^(\{|null$)/.test(line) ? (last = line) : say(line))
    try {
      await run(process.execPath, ['tests/faults/dist/faults/run.js', backend, id, values.scale], { env, log })
      return JSON.parse(last)
    } catch (error) {
      say(`${id} on ${backend}: FAILED, it did not come to an end`)
      return { ...NO_END, id, backend, notes: [error.message.slice(-2000)] }
    }
  }
  // Most of a small run is waiting for leases and locks, so two kinds share the machine.
  const atOnce = Number(values['at-once'] ?? (values.scale === 'small' ? 2 : 1))
  let next = 0
  const lane = async () => {
    while (next < tasks.length) {
      const at = next++
      results[at] = await runOne(tasks[at])
    }
  }
  await Promise.all(Array.from({ length: atOnce }, lane))
} finally {
  await server.stop()
  rmSync(folder, { recursive: true, force: true })
}
const found = results.filter(Boolean)
say(`${found.length} runs in ${Math.round((Date.now() - began) / 1000)} s.`)

if (values.json) console.log(JSON.stringify(found, null, 2))
else
  for (const one of found)
    console.log(
      `${one.id.padEnd(4)} ${one.backend.padEnd(9)} ${one.passed ? 'passed' : 'FAILED'}  ${one.injected} injected, ${one.reminders} reminders, ${one.writes} writes, ${one.lost} lost, ${one.doubled} doubled, ${one.uncertain} uncertain (${one.uncertainAllowed} allowed), recovered in ${one.worstRecoverySeconds} s. ${one.what}${one.notes.length > 0 ? `\n     ${one.notes.join('\n     ')}` : ''}`,
    )
process.exit(found.length > 0 && found.every(({ passed }) => passed) ? 0 : 1)
