/** A Redis of the test's own, in a folder of its own: from the PATH, or an empty database of the one that REDIS_URL names. */
import { type ChildProcess, spawn, spawnSync } from 'node:child_process'
import { mkdtempSync, rmSync } from 'node:fs'
import { createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'

export interface TestRedis {
  url: string
  /** kill -9, as if the power went. */
  kill(): Promise<void>
  /** Starts it again with what its append-only file kept. */
  again(): Promise<void>
  stop(): Promise<void>
}

function program(): string | null {
  return ['redis-server', 'valkey-server'].find((name) => spawnSync('sh', ['-c', `command -v ${name}`]).status === 0) ?? null
}

/** null where there is one; otherwise why the tests of the Redis backend cannot run here. */
export const whyNoRedis: string | null =
  process.env.REDIS_URL || program() ? null : 'Neither redis-server nor valkey-server is on the PATH, and REDIS_URL is not set.'

export async function freePort(): Promise<number> {
  const server = createServer()
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done))
  const { port } = server.address() as { port: number }
  await new Promise((done) => server.close(done))
  return port
}

async function run(port: number, folder: string): Promise<ChildProcess> {
  const words = ['--port', String(port), '--bind', '127.0.0.1', '--dir', folder, '--appendonly', 'yes', '--maxmemory-policy', 'noeviction']
  const child = spawn(program() as string, words, { stdio: ['ignore', 'pipe', 'ignore'] })
  await new Promise<void>((done, fail) => {
    child.once('exit', () => fail(new Error('Redis ended before it was ready.')))
    child.stdout?.setEncoding('utf8')
    child.stdout?.on('data', (text: string) => text.includes('Ready to accept connections') && done())
  })
  return child
}

function end(child: ChildProcess, signal: NodeJS.Signals): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return Promise.resolve()
  const ended = new Promise<void>((done) => child.once('exit', () => done()))
  child.kill(signal)
  return ended
}

export async function startTestRedis(): Promise<TestRedis> {
  if (process.env.REDIS_URL) {
    const refuse = () => Promise.reject(new Error('REDIS_URL names a server that the tests may not kill.'))
    return { url: process.env.REDIS_URL, kill: refuse, again: refuse, stop: async () => undefined }
  }
  const folder = mkdtempSync(join(tmpdir(), 'tapewarden-redis-'))
  const port = await freePort()
  let child = await run(port, folder)
  return {
    url: `redis://127.0.0.1:${port}/0`,
    kill: () => end(child, 'SIGKILL'),
    again: async () => void (child = await run(port, folder)),
    async stop() {
      await end(child, 'SIGTERM')
      rmSync(folder, { recursive: true, force: true })
    },
  }
}
