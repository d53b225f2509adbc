// `npm test`: everything that the tests need is started here or by them. Ends with 'N passed, N failed, N skipped'.
// `npm test -- unit`, `-- database`, `-- system` or a path pattern runs a part.
import { existsSync, mkdirSync, readFileSync, rmSync } from 'node:fs'
import { spawn } from 'node:child_process'
import { availableParallelism } from 'node:os'
import { join } from 'node:path'
import { buildIfNeeded } from './build.mjs'
import { ensurePackages, hasProgram, refuseOldNode, root } from './lib.mjs'

refuseOldNode()
const PROJECTS = ['unit', 'database', 'system']
const asked = process.argv.slice(2)
const projects = PROJECTS.filter((project) => asked.includes(project))
const patterns = asked.filter((word) => !PROJECTS.includes(word))

/** Each file of database tests has a database of its own, all on one server; the others need none. */
const SIDE_BY_SIDE = 2

/** Zones in which the tests of calendars and dates run once more: half an hour off, and west of Greenwich. */
const OTHER_ZONE = 'America/St_Johns'

function jest(label, names, zone, more) {
  mkdirSync(join(root, '.data'), { recursive: true })
  const report = join(root, '.data', `test-${label}.json`)
  rmSync(report, { force: true })
  const words = [
    'node_modules/jest/bin/jest.js',
    '--selectProjects',
    ...names,
    '--json',
    `--outputFile=${report}`,
    '--testLocationInResults=false',
    // On a busy machine a test of the database takes many times as long; what hangs is still stopped.
    '--testTimeout=60000',
    '--passWithNoTests',
    // Modules of a file's tests are never given back by the process that loaded them: begin another one in good time.
    '--workerIdleMemoryLimit=1GB',
    ...more,
  ]
  const env = { ...process.env, TZ: zone, NODE_OPTIONS: '--experimental-vm-modules --no-warnings' }
  return new Promise((done) => {
    const child = spawn(process.execPath, words, { cwd: root, env, stdio: ['ignore', 'ignore', 'inherit'] })
    child.on('close', (code) => done({ code, result: existsSync(report) ? JSON.parse(readFileSync(report, 'utf8')) : null }))
  })
}

function sayMissing() {
  if (!hasProgram('redis-server') && !hasProgram('valkey-server') && !process.env.REDIS_URL)
    console.log('NOTE: no redis-server or valkey-server on the PATH and no REDIS_URL: the tests of the Redis queue backend are SKIPPED.')
  if (!existsSync('/usr/bin/chromium')) console.log('NOTE: no /usr/bin/chromium: the browser tests are SKIPPED.')
}

await ensurePackages(console.log)
await buildIfNeeded(console.log)
sayMissing()

// What brings up whole systems, with browsers, has the machine to itself; the rest shares it.
const wanted = projects.length > 0 ? projects : PROJECTS
const shared = wanted.filter((project) => project !== 'system')
const runs = []
if (shared.length > 0)
  runs.push({
    label: 'shared',
    names: shared,
    zone: 'UTC',
    more: [`--maxWorkers=${Math.min(SIDE_BY_SIDE, availableParallelism())}`, ...patterns],
  })
if (wanted.includes('system')) runs.push({ label: 'system', names: ['system'], zone: 'UTC', more: ['--maxWorkers=1', ...patterns] })
if (asked.length === 0) runs.push({ label: 'zone', names: ['unit'], zone: OTHER_ZONE, more: ['libs/scheduling', 'shared'] })

const total = { passed: 0, failed: 0, skipped: 0 }
for (const { label, names, zone, more } of runs) {
  console.log(`\nTests: ${names.join(', ')} (TZ=${zone})`)
  const { code, result } = await jest(label, names, zone, more)
  if (!result) {
    console.log(`The test runner itself failed (${code}).`)
    total.failed += 1
    continue
  }
  total.passed += result.numPassedTests
  total.failed += result.numFailedTests + result.numRuntimeErrorTestSuites
  total.skipped += result.numPendingTests + result.numTodoTests
  if (code !== 0 && result.numFailedTests + result.numRuntimeErrorTestSuites === 0) total.failed += 1
}
if (total.passed === 0 && total.failed === 0) total.failed = 1
console.log(`\n${total.passed} passed, ${total.failed} failed, ${total.skipped} skipped`)
process.exit(total.failed === 0 ? 0 : 1)
