// The processes of one running Tapewarden: started in order, watched, ended in reverse.
import { spawn } from 'node:child_process'
import { closeSync, mkdirSync, openSync } from 'node:fs'
import { join } from 'node:path'
import { root } from '../lib.mjs'

/** Keeps what must be stopped; stops it once, last started first, however often it is asked. */
export class Running {
  #stops = []
  #stopping = null

  add(name, stop) {
    this.#stops.push({ name, stop })
  }

  stop() {
    this.#stopping ??= this.#stopAll()
    return this.#stopping
  }

  async #stopAll() {
    for (const { name, stop } of this.#stops.reverse()) {
      try {
        await stop()
      } catch (error) {
        console.error(`${name} did not stop cleanly: ${error.message}`)
      }
    }
  }
}

/** Starts a built entry. It ends when this process ends: its standard input is a life-line. */
export function startProcess(name, entry, env, { dataDir, onEnd, flags = [] }) {
  mkdirSync(join(dataDir, 'logs'), { recursive: true })
  const logPath = join(dataDir, 'logs', `${name}.log`)
  const log = openSync(logPath, 'a')
  const child = spawn(process.execPath, ['--enable-source-maps', ...flags, join(root, entry)], {
    cwd: root,
    env: { ...env, PARENT_WATCH: '1' },
    stdio: ['pipe', log, log],
  })
  closeSync(log)
  let stopping = false
  const ended = new Promise((done) => child.once('exit', (code, signal) => done({ code, signal })))
  ended.then(({ code, signal }) => stopping || onEnd(`${name} ended (${signal ?? code}); its log is ${logPath}`))
  child.once('error', (error) => stopping || onEnd(`${name} could not be started: ${error.message}`))
  return {
    logPath,
    async stop() {
      stopping = true
      if (child.exitCode !== null || child.signalCode !== null) return
      child.kill('SIGTERM')
      const late = setTimeout(() => child.kill('SIGKILL'), 15_000)
      await ended
      clearTimeout(late)
    },
  }
}

/** Waits until an address answers 200; says what it last heard when it never does. */
export async function waitUntilReady(name, url, seconds, failed) {
  const until = Date.now() + seconds * 1000
  let heard = 'nothing'
  while (Date.now() < until) {
    if (failed()) throw new Error(failed())
    try {
      const answer = await fetch(url, { signal: AbortSignal.timeout(2000) })
      if (answer.ok) return
      heard = `${answer.status} ${(await answer.text()).slice(0, 300)}`
    } catch (error) {
      heard = error.cause?.message ?? error.message
    }
    await new Promise((later) => setTimeout(later, 150))
  }
  throw new Error(`${name} was not ready within ${seconds} s; it last answered: ${heard}`)
}
