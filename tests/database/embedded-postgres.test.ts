/** The embedded server as `npm start` uses it, each case in processes and folders of its own. */
import { type ChildProcess, spawn } from 'node:child_process'
import { chmodSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs'
import { createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { setTimeout as wait } from 'node:timers/promises'
import { pathToFileURL } from 'node:url'
import { afterEach, beforeEach, describe, expect, it, jest } from '@jest/globals'
import { Client } from 'pg'

const script = pathToFileURL(resolve(import.meta.dirname, '../../tools/embedded-postgres.mjs')).href
/** Several starts a test, on a machine that may be busy. */
jest.setTimeout(60_000)

let folder: string
let children: ChildProcess[]

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'tapewarden-embedded-'))
  chmodSync(folder, 0o755)
  children = []
})
afterEach(async () => {
  for (const child of children) if (child.exitCode === null && child.signalCode === null) child.kill('SIGKILL')
  await wait(300)
  rmSync(folder, { recursive: true, force: true })
})

interface Answer {
  url?: string
  error?: string
}

/** A process that starts the server on a folder, says where it is, and stays until it is told to stop. */
async function start(dataDir: string, port = 57_000 + Math.floor(Math.random() * 900)): Promise<{ child: ChildProcess; answer: Answer }> {
  const code = `import { startPostgres } from ${JSON.stringify(script)}
    try {
      const server = await startPostgres({ dataDir: ${JSON.stringify(dataDir)}, port: ${port}, forTests: true })
      process.on('SIGTERM', () => server.stop().then(() => process.exit(0)))
      setInterval(() => {}, 1e6)
      console.log(JSON.stringify({ url: server.url }))
    } catch (error) { console.log(JSON.stringify({ error: error.message })) }`
  const child = spawn(process.execPath, ['--input-type=module', '-e', code], {
    stdio: ['ignore', 'pipe', 'inherit'],
    env: { ...process.env, NODE_OPTIONS: '' },
  })
  children.push(child)
  const line = await new Promise<string>((done) => child.stdout?.once('data', (text) => done(String(text))))
  return { child, answer: JSON.parse(line) as Answer }
}

async function stop(child: ChildProcess): Promise<void> {
  const ended = new Promise((done) => child.once('exit', done))
  child.kill('SIGTERM')
  await ended
}

async function ask(url: string | undefined, text: string): Promise<unknown[]> {
  const client = new Client({ connectionString: url })
  await client.connect()
  try {
    return (await client.query(text)).rows
  } finally {
    await client.end()
  }
}

async function refused(url: string | undefined): Promise<boolean> {
  for (let left = 30; left > 0; left--) {
    const gone = await ask(url, 'SELECT 1').then(
      () => false,
      (error: { code?: string }) => error.code === 'ECONNREFUSED',
    )
    if (gone) return true
    await wait(100)
  }
  return false
}

describe('the embedded PostgreSQL', () => {
  it('keeps data and password from one start to the next, in a folder with a space', async () => {
    const place = join(folder, 'a checkout', 'data')
    const first = await start(place)
    await ask(first.answer.url, 'CREATE TABLE kept AS SELECT 42 AS answer')
    await stop(first.child)
    expect(await refused(first.answer.url)).toBe(true)
    const second = await start(place)
    expect(new URL(second.answer.url ?? '').password).toBe(new URL(first.answer.url ?? '').password)
    expect(await ask(second.answer.url, 'SELECT answer FROM kept')).toEqual([{ answer: 42 }])
    expect(statSync(`${place}.password`).mode & 0o077).toBe(0)
  })

  it('goes when its starter is killed without a word, and recovers what was written', async () => {
    const place = join(folder, 'data')
    const first = await start(place)
    await ask(first.answer.url, 'CREATE TABLE kept AS SELECT 42 AS answer')
    first.child.kill('SIGKILL')
    expect(await refused(first.answer.url)).toBe(true)
    const second = await start(place)
    expect(await ask(second.answer.url, 'SELECT answer FROM kept')).toEqual([{ answer: 42 }])
  })

  it('says so when another is running on the folder, and leaves that one alone', async () => {
    const place = join(folder, 'data')
    const first = await start(place)
    const second = await start(place)
    expect(second.answer.error).toMatch(/data folder is in use: another Tapewarden of this checkout is running/)
    expect(await ask(first.answer.url, 'SELECT 1 AS one')).toEqual([{ one: 1 }])
  })

  it('takes the next port where the first is taken', async () => {
    const taken = createServer()
    await new Promise<void>((done) => taken.listen(0, '127.0.0.1', done))
    const { port } = taken.address() as { port: number }
    const { answer } = await start(join(folder, 'data'), port)
    expect(Number(new URL(answer.url ?? '').port)).toBeGreaterThan(port)
    taken.close()
  })

  it('works in a folder that others may not enter; thrown away, it begins anew', async () => {
    const closed = join(folder, 'closed')
    mkdirSync(closed, { mode: 0o700 })
    const place = join(closed, 'data')
    const first = await start(place)
    await ask(first.answer.url, 'CREATE TABLE kept AS SELECT 42 AS answer')
    await stop(first.child)
    // Root hands the server to another user, who cannot enter: then the data lie in a cache, and a note says where.
    const elsewhere = existsSync(join(place, 'data-is-elsewhere.txt'))
      ? readFileSync(join(place, 'data-is-elsewhere.txt'), 'utf8').trim()
      : null
    expect(elsewhere !== null).toBe(process.getuid?.() === 0)
    rmSync(place, { recursive: true })
    rmSync(`${place}.password`)
    const second = await start(place)
    expect(await ask(second.answer.url, `SELECT to_regclass('kept') AS there`)).toEqual([{ there: null }])
    await stop(second.child)
    if (elsewhere) rmSync(elsewhere, { recursive: true, force: true })
  })
})
