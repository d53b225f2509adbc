// `npm run faults -- --json [--only R1,R2,…] [--scale small|full] [--backend postgres|redis]`: real processes, real PostgreSQL, faults, and a ledger outside that decides.
import { randomBytes } from 'node:crypto'
import { chmodSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { buildIfNeeded } from './build.mjs'
import { startPostgres } from './embedded-postgres.mjs'
import { ensurePackages, hasProgram, root, run } from './lib.mjs'

const ALL = ['R1', 'R2', 'R3', 'R4', 'R5', 'R10']
const { values } = parseArgs({
  options: {
    json: { type: 'boolean' },
    only: { type: 'string' },
    scale: { type: 'string', default: 'small' },
    backend: { type: 'string' },
  },
})
const asked = (values.only ?? ALL.join(',')).split(',')
const unknown = asked.filter((id) => !ALL.includes(id))
if (unknown.length > 0 || !['small', 'full'].includes(values.scale)) {
  console.error(`Not known: ${[...unknown, values.scale].join(', ')}. Kinds: ${ALL.join(', ')}; scales: small, full.`)
  process.exit(2)
}

const say = (line) => console.error(line)
await ensurePackages(say)
await buildIfNeeded(say)
await run(process.execPath, ['node_modules/typescript7/bin/tsc', '-p', 'tests/faults/tsconfig.json'])

const haveRedis = hasProgram('redis-server') || hasProgram('valkey-server')
const backends = values.backend ? [values.backend] : haveRedis ? ['postgres', 'redis'] : ['postgres']
if (!haveRedis && !values.backend) say('SKIPPED on Redis: neither redis-server nor valkey-server is on the PATH.')

const folder = mkdtempSync(join(tmpdir(), 'tapewarden-faults-'))
chmodSync(folder, 0o755)
const server = await startPostgres({ dataDir: join(folder, 'data'), forTests: true })
const results = []
try {
  const password = randomBytes(18).toString('base64url')
  await run(process.execPath, ['libs/persistence/dist/migrate/cli.js'], {
    env: { ...process.env, DATABASE_OWNER_URL: server.url, DATABASE_APP_PASSWORD: password },
  })
  const app = new URL(server.url)
  app.username = 'tapewarden_app'
  app.password = password
  for (const backend of backends) {
    let last = ''
    const kept = await run(process.execPath, ['tests/faults/dist/faults/run.js', backend, app.href, asked.join(','), values.scale], {
      env: { ...process.env, TZ: 'UTC', TAPEWARDEN_ROOT: root, TAPEWARDEN_BOTH: backends.length > 1 ? '1' : '0' },
      log: (line) => (line.startsWith('[') ? (last = line) : say(line)),
    })
    results.push(...JSON.parse(last || kept.trim().split('\n').at(-1)))
  }
} finally {
  await server.stop()
  rmSync(folder, { recursive: true, force: true })
}

if (values.json) console.log(JSON.stringify(results, null, 2))
else
  for (const one of results)
    console.log(
      `${one.id.padEnd(4)} ${one.backend.padEnd(9)} ${one.passed ? 'passed' : 'FAILED'}  ${one.injected} injected, ${one.reminders} reminders, ${one.lost} lost, ${one.doubled} doubled, ${one.uncertain} uncertain (${one.uncertainAllowed} allowed), recovered in ${one.worstRecoverySeconds} s. ${one.what}${one.notes.length > 0 ? `\n     ${one.notes.join('\n     ')}` : ''}`,
    )
process.exit(results.every(({ passed }) => passed) ? 0 : 1)
