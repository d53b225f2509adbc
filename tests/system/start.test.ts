/** `npm start` in a fresh clone: as an ordinary user, in a folder with a space that others may not enter; ended, killed, started again. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { type ChildProcess, execFileSync, spawn, spawnSync } from 'node:child_process'
import { chmodSync, chownSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { clientOf, type Started, until } from './support/running.js'

/** Root hands over to 'nobody'; anyone else starts as themselves. */
const user = process.getuid?.() === 0 ? Number(execFileSync('id', ['-u', 'nobody'], { encoding: 'utf8' })) : undefined
let parent = ''
let clone = ''

interface Running {
  child: ChildProcess
  started: Started
}

const environment = (): NodeJS.ProcessEnv => ({ PATH: process.env.PATH, HOME: parent, TMPDIR: tmpdir(), LANG: 'C.UTF-8' })
const identity = user === undefined ? {} : { uid: user, gid: user }

async function start(words: string[] = []): Promise<Running> {
  const child = spawn(process.execPath, ['tools/start.mjs', '--json', ...words], {
    cwd: clone,
    env: environment(),
    ...identity,
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  let out = ''
  let problem = ''
  child.stdout?.on('data', (text) => (out += text))
  child.stderr?.on('data', (text) => (problem += text))
  const line = await until('the ready line', 240, async () => {
    if (child.exitCode !== null) throw new Error(`ended with ${child.exitCode}: ${problem}`)
    return out.split('\n').find((text) => text.startsWith('{"urls"'))
  })
  return { child, started: JSON.parse(line) as Started }
}

const answers = (url: string): Promise<boolean> =>
  fetch(url, { signal: AbortSignal.timeout(1000) }).then(
    () => true,
    () => false,
  )

async function allGone({ urls }: Started): Promise<void> {
  await until(
    'everything to end',
    20,
    async () => !(await answers(urls.health)) && !(await answers(urls.workerHealth)) && !(await answers(urls.mailbox)),
  )
  await until('the database to end', 20, async () => spawnSync('pgrep', ['-f', clone]).status !== 0)
}

const machineCount = async (started: Started): Promise<number> => {
  const client = await clientOf(started)
  await client.signIn(started.signIns.find(({ role }) => role === 'manager')!)
  return (await client.all('/api/v1/machines')).length
}

beforeAll(() => {
  parent = mkdtempSync(join(tmpdir(), 'others may not enter '))
  clone = join(parent, 'a checkout')
  execFileSync('git', ['clone', '-q', process.cwd(), clone])
  execFileSync('cp', ['-al', join(process.cwd(), 'node_modules'), join(clone, 'node_modules')])
  mkdirSync(join(clone, '.data'), { recursive: true })
  if (user !== undefined) {
    execFileSync('find', [clone, '-path', join(clone, 'node_modules', '*'), '-prune', '-o', '-exec', 'chown', `${user}:${user}`, '{}', '+'])
    chownSync(parent, user, user)
  }
  // What only the copied folder has: a real first start finds neither.
  for (const name of ['.tapewarden-lock', '.vite-temp', '.vite'])
    rmSync(join(clone, 'node_modules', name), { recursive: true, force: true })
  chmodSync(parent, 0o700)
}, 120_000)
afterAll(() => rmSync(parent, { recursive: true, force: true }))

describe('npm start', () => {
  let signIns: Started['signIns'] = []

  it('builds what is missing, starts, and lets the demo’s manager in', async () => {
    const { child, started } = await start()
    signIns = started.signIns
    expect(signIns.map(({ role }) => role).sort()).toEqual(['administrator', 'instructed', 'manager', 'technician'])
    expect(await machineCount(started)).toBe(60)
    // Killed without a word, it takes everything with it.
    child.kill('SIGKILL')
    await allGone(started)
  }, 300_000)

  it('keeps the data and the sign-ins, and ends all of it when asked', async () => {
    const { child, started } = await start()
    expect(started.signIns).toEqual(signIns)
    expect(await machineCount(started)).toBe(60)
    const ended = new Promise((done) => child.once('exit', done))
    child.kill('SIGTERM')
    expect(await ended).toBe(0)
    await allGone(started)
  }, 240_000)

  it('says every bad setting in one message, and no value', () => {
    const env = { ...environment(), DATABASE_URL: 'mysql://a:hidden@b/c', QUEUE_URL: 'nonsense', PORT: '99999999' }
    const { status, stderr } = spawnSync(process.execPath, ['tools/start.mjs', '--sideways'], {
      cwd: clone,
      env,
      encoding: 'utf8',
      ...identity,
    })
    expect(status).toBe(2)
    for (const name of ['DATABASE_URL', 'QUEUE_URL', 'PORT', '--sideways']) expect(stderr).toContain(name)
    expect(stderr).not.toContain('hidden')
  })

  it('says that a port is taken', async () => {
    const server = createServer()
    await new Promise<void>((done) => server.listen(0, '127.0.0.1', done))
    const address = server.address() as { port: number }
    const { status, stderr } = spawnSync(process.execPath, ['tools/start.mjs', '--port', String(address.port)], {
      cwd: clone,
      env: environment(),
      encoding: 'utf8',
      timeout: 120_000,
      ...identity,
    })
    server.close()
    expect(status).toBe(1)
    expect(stderr).toContain(`Port ${address.port} is taken`)
  }, 150_000)

  it('names its scripts as the README does', () => {
    const { scripts } = JSON.parse(readFileSync(join(clone, 'package.json'), 'utf8')) as { scripts: Record<string, string> }
    expect(scripts).toMatchObject({ start: 'node tools/start.mjs', test: 'node tools/test.mjs' })
  })
})
