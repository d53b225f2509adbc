/** Whole Tapewarden processes for a test: the built entries, an embedded PostgreSQL, a mailbox, each in a folder of their own. */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'

export interface Started {
  urls: { desk: string; onSite: string; api: string; mailbox: string; health: string; workerHealth: string; openapi: string }
  signIns: { role: string; name: string; email: string; password: string }[]
}

interface Running {
  add(name: string, stop: () => unknown): void
  stop(): Promise<void>
}

const tool = async (path: string): Promise<Record<string, never>> =>
  (await import(pathToFileURL(join(process.cwd(), 'tools', path)).href)) as Record<string, never>

export interface SystemOptions {
  demo: 'full' | 'empty'
  queueUrl?: string | null
  databaseUrl?: string | null
  ownerUrl?: string | null
  extraEnv?: Record<string, string>
  /** Left out: any that is free. */
  port?: number
}

/** @returns the addresses, the folder of its data and logs, and a function that ends all of it */
export async function startSystem(options: SystemOptions): Promise<Started & { dataDir: string; stop(keepData?: boolean): Promise<void> }> {
  return startSystemIn(mkdtempSync(join(tmpdir(), 'tapewarden test ')), options)
}

/** Again in a folder that a former start has left: data, secrets and sign-ins are kept. */
export async function startSystemIn(
  dataDir: string,
  options: SystemOptions,
): Promise<Started & { dataDir: string; stop(keepData?: boolean): Promise<void> }> {
  const { Running: RunningClass } = (await tool('start/processes.mjs')) as unknown as { Running: new () => Running }
  const { startAll } = (await tool('start/all.mjs')) as unknown as { startAll: (asked: object) => Promise<Started> }
  const running = new RunningClass()
  const settings = {
    port: options.port ?? null,
    portIsFixed: options.port !== undefined,
    databaseUrl: options.databaseUrl ?? null,
    ownerUrl: options.ownerUrl ?? null,
    queueUrl: options.queueUrl ?? null,
    smtpUrl: null,
  }
  try {
    const started = await startAll({
      settings,
      running,
      say: () => undefined,
      dataDir,
      demo: options.demo,
      onEnd: () => undefined,
      // AHEAD=4d: the installation lives that much later than the machine that tests it, to see that no test needs what is due today.
      extraEnv: { LOG_LEVEL: 'warn', ...(process.env['AHEAD'] ? { CLOCK_OFFSET: process.env['AHEAD'] } : {}), ...options.extraEnv },
    })
    return {
      ...started,
      dataDir,
      async stop(keepData = false) {
        await running.stop()
        if (!keepData) rmSync(dataDir, { recursive: true, force: true })
      },
    }
  } catch (error) {
    await running.stop()
    throw error
  }
}

export interface Client {
  signIn(who: { email: string; password: string }): Promise<unknown>
  ask(method: string, path: string, body?: unknown): Promise<{ status: number; body: any }>
  get(path: string): Promise<any>
  post(path: string, body?: unknown): Promise<any>
  must(method: string, path: string, body?: unknown): Promise<any>
  all(path: string): Promise<any[]>
}

export async function clientOf(started: Started): Promise<Client> {
  const { ApiClient } = (await tool('start/client.mjs')) as unknown as { ApiClient: new (base: string) => Client }
  return new ApiClient(started.urls.desk.replace(/\/$/, ''))
}

export async function until<T>(what: string, seconds: number, ask: () => Promise<T | null | undefined | false>): Promise<T> {
  const tools = (await tool('start/client.mjs')) as unknown as { until: (what: string, seconds: number, ask: () => unknown) => Promise<T> }
  return tools.until(what, seconds, ask)
}

export async function workThrough(
  client: Client,
  order: { id: string },
  how: { at: () => string; measure: (measurement: any, task: any) => number },
): Promise<any> {
  const tools = (await tool('start/client.mjs')) as unknown as { workThrough: (client: Client, order: object, how: object) => Promise<any> }
  return tools.workThrough(client, order, how)
}
