// What the plain scripts share. No dependencies: they run before any package is there.
import { spawn, spawnSync } from 'node:child_process'
import { createHash } from 'node:crypto'
import { existsSync, mkdirSync, readFileSync, readdirSync, writeFileSync } from 'node:fs'
import { createServer } from 'node:net'
import { dirname, join, relative, resolve } from 'node:path'
import { fileURLToPath } from 'node:url'

export const root = resolve(dirname(fileURLToPath(import.meta.url)), '..')

/**
 * Flags of Node.js for the worker, and what the C library is told: its heaps grow by small steps and hold few young objects,
 * and its threads share what they take, so that a planning pass takes less memory, for a little more collecting of garbage;
 * `npm run bench -- --only memory` measures with them.
 */
export const WORKER_FLAGS = ['--max-semi-space-size=2', '--heap-growing-percent=20']
export const WORKER_ENV = { MALLOC_ARENA_MAX: '2' }

export function refuseOldNode() {
  const [major, minor] = process.versions.node.split('.').map(Number)
  if (major > 20 || (major === 20 && minor >= 19)) return
  console.error(`Tapewarden needs Node.js 20.19 or newer; this is ${process.versions.node}.`)
  process.exit(1)
}

/** Runs a command to its end; its output goes to `log` line by line and is kept for the error. */
export function run(command, args, { env = process.env, log = () => {}, cwd = root } = {}) {
  return new Promise((done, fail) => {
    const child = spawn(command, args, { cwd, env, stdio: ['ignore', 'pipe', 'pipe'] })
    let kept = ''
    for (const stream of [child.stdout, child.stderr]) {
      stream.setEncoding('utf8')
      stream.on('data', (text) => {
        kept = (kept + text).slice(-20_000)
        for (const line of text.split('\n')) if (line.trim()) log(line)
      })
    }
    child.on('error', fail)
    child.on('close', (code, signal) =>
      code === 0 ? done(kept) : fail(new Error(`${command} ${args.join(' ')} ended with ${signal ?? code}\n${kept}`)),
    )
  })
}

const LOCK_STAMP = join(root, 'node_modules', '.tapewarden-lock')

function lockHash() {
  return createHash('sha256')
    .update(readFileSync(join(root, 'package-lock.json')))
    .digest('hex')
}

/** Brings the packages when they are missing or older than the lock file. */
export async function ensurePackages(log) {
  const stamp = existsSync(LOCK_STAMP) ? readFileSync(LOCK_STAMP, 'utf8') : ''
  if (stamp === lockHash()) return false
  if (existsSync(join(root, 'node_modules', '.package-lock.json')) && lockMatches()) {
    writeFileSync(LOCK_STAMP, lockHash())
    return false
  }
  log('Bringing the packages (npm ci): two minutes or so on a first start …')
  const began = Date.now()
  const beat = setInterval(() => log(`  … still bringing packages, ${Math.round((Date.now() - began) / 1000)} s`), 15_000)
  try {
    await run('npm', ['ci', '--ignore-scripts', '--no-audit', '--no-fund', '--loglevel=error'])
  } finally {
    clearInterval(beat)
  }
  writeFileSync(LOCK_STAMP, lockHash())
  log(`Packages are here (${Math.round((Date.now() - began) / 1000)} s).`)
  return true
}

/** True where the installed tree holds every package of the lock file in its version (packages of other systems aside). */
function lockMatches() {
  const read = (path) => JSON.parse(readFileSync(join(root, path), 'utf8')).packages
  const wanted = read('package-lock.json')
  const here = read('node_modules/.package-lock.json')
  return Object.entries(wanted).every(
    ([path, { version, link, optional }]) => !path.startsWith('node_modules/') || link || optional || here[path]?.version === version,
  )
}

function* sourceFiles(folder) {
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    if (['node_modules', 'dist', 'generated', '.data'].includes(entry.name)) continue
    const path = join(folder, entry.name)
    if (entry.isDirectory()) yield* sourceFiles(path)
    else if (!entry.name.endsWith('.test.ts') && !entry.name.endsWith('.tsbuildinfo')) yield path
  }
}

/** One hash over name and content of every file that a build reads. */
export function sourceHash(folders, files = []) {
  const hash = createHash('sha256')
  const paths = [...folders.flatMap((folder) => [...sourceFiles(join(root, folder))]), ...files.map((file) => join(root, file))]
  for (const path of paths.sort()) hash.update(relative(root, path)).update('\0').update(readFileSync(path)).update('\0')
  return hash.digest('hex')
}

export function readState(name) {
  const path = join(root, '.data', name)
  return existsSync(path) ? JSON.parse(readFileSync(path, 'utf8')) : {}
}

export function writeState(name, value) {
  mkdirSync(join(root, '.data'), { recursive: true })
  writeFileSync(join(root, '.data', name), JSON.stringify(value, null, 2) + '\n', { mode: 0o600 })
}

/** The first free port from `from` on; 0 asks the system for one. */
export async function freePort(from, before = from + 200) {
  for (let port = from; port < before; port++) {
    const free = await new Promise((answer) => {
      const server = createServer()
      server.once('error', () => answer(0))
      server.listen(port, '127.0.0.1', () => {
        const taken = server.address().port
        server.close(() => answer(taken))
      })
    })
    if (free) return free
    if (from === 0) break
  }
  throw new Error(`No free port from ${from} on. Name one with -- --port N.`)
}

/** Guards lie this far above the ports they stand for. */
const GUARD_DISTANCE = 20_000

/**
 * The first free port from `from` on that no other start is about to take: each start listens on a guard beside its
 * port for as long as it runs, so two starts at the same moment never choose the same one.
 * @returns {port, release()}
 */
export async function reservePort(from) {
  for (let port = from; port < from + 200; port++) {
    if ((await freePort(port, port + 1).catch(() => 0)) !== port) continue
    const guard = createServer()
    const held = await new Promise((answer) => {
      guard.once('error', () => answer(false))
      guard.listen(port + GUARD_DISTANCE, '127.0.0.1', () => answer(true))
    })
    if (held) return { port, release: () => new Promise((done) => guard.close(done)) }
  }
  throw new Error(`No free port from ${from} on. Name one with -- --port N.`)
}

export function hasProgram(name) {
  return spawnSync('sh', ['-c', `command -v ${name}`]).status === 0
}
