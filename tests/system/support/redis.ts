/** A Redis of the test's own, where `redis-server` or `valkey-server` is on the PATH, or REDIS_URL names one. */
import { spawn, spawnSync } from 'node:child_process'
import { createServer } from 'node:net'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'

const program = ['redis-server', 'valkey-server'].find((name) => spawnSync('sh', ['-c', `command -v ${name}`]).status === 0)

export const hasRedis = program !== undefined || process.env.REDIS_URL !== undefined

function freePort(): Promise<number> {
  return new Promise((done) => {
    const server = createServer().listen(0, '127.0.0.1', () => {
      const address = server.address()
      server.close(() => done(typeof address === 'object' && address ? address.port : 0))
    })
  })
}

export async function startRedis(): Promise<{ url: string; stop(): Promise<void> }> {
  if (process.env.REDIS_URL) return { url: process.env.REDIS_URL, stop: async () => undefined }
  const port = await freePort()
  const dir = mkdtempSync(join(tmpdir(), 'redis-'))
  const child = spawn(
    program as string,
    ['--port', String(port), '--bind', '127.0.0.1', '--dir', dir, '--appendonly', 'yes', '--maxmemory-policy', 'noeviction', '--save', ''],
    { stdio: ['ignore', 'pipe', 'inherit'] },
  )
  await new Promise<void>((ready, fail) => {
    child.once('exit', (code) => fail(new Error(`redis ended with ${code}`)))
    child.stdout.on('data', (text) => String(text).includes('eady to accept connections') && ready())
  })
  return {
    url: `redis://127.0.0.1:${port}`,
    async stop() {
      child.removeAllListeners('exit')
      const ended = new Promise((done) => child.once('exit', done))
      child.kill('SIGTERM')
      await ended
      rmSync(dir, { recursive: true, force: true })
    },
  }
}
