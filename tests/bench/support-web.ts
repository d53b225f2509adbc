/** What the benches of pages share: the demo started, vitals watched from before the first paint, a slower line and processor. */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import type { BrowserContext, Page } from 'playwright-core'

export const root = join(import.meta.dirname, '../../..')
export const CHROMIUM = '/usr/bin/chromium'
export const FLAGS = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-sync',
]

export interface Line {
  offline: false
  /** Bytes a second. */
  downloadThroughput: number
  uploadThroughput: number
  /** Milliseconds of a round trip. */
  latency: number
}

export interface System {
  urls: { onSite: string; desk: string }
  signIns: { role: string; email: string; password: string }[]
}
export interface Vitals {
  lcpMs: number
  cls: number
  inpMs: number
  /** Until one's own orders are painted; the largest text before is the word that they come. */
  ordersMs: number
}

export async function startSystem(): Promise<System & { stop(): Promise<void> }> {
  const load = async (file: string): Promise<Record<string, unknown>> =>
    (await import(pathToFileURL(join(root, 'tools/start', file)).href)) as Record<string, unknown>
  const { Running } = (await load('processes.mjs')) as { Running: new () => { stop(): Promise<void> } }
  const { startAll } = (await load('all.mjs')) as { startAll: (asked: object) => Promise<System> }
  const running = new Running()
  const dataDir = mkdtempSync(join(tmpdir(), 'tapewarden-web-'))
  const settings = { port: null, portIsFixed: false, databaseUrl: null, ownerUrl: null, queueUrl: null, smtpUrl: null, lan: false }
  const say = (): void => undefined
  const started = await startAll({ settings, running, say, dataDir, demo: 'full', onEnd: say, extraEnv: { LOG_LEVEL: 'warn' } })
  const stop = async (): Promise<void> => {
    await running.stop()
    rmSync(dataDir, { recursive: true, force: true })
  }
  return { ...started, stop }
}

/** Watches from before the first paint; kept in the page. */
export const WATCH = `
  window.vitals = { lcpMs: 0, cls: 0, inpMs: 0, ordersMs: 0 }
  new MutationObserver((_all, watch) => { if (document.querySelector('section[aria-label="Your orders"]')) { watch.disconnect(); requestAnimationFrame(() => { vitals.ordersMs = performance.now() }) } }).observe(document, { childList: true, subtree: true })
  new PerformanceObserver((list) => { for (const entry of list.getEntries()) vitals.lcpMs = entry.startTime }).observe({ type: 'largest-contentful-paint', buffered: true })
  new PerformanceObserver((list) => { for (const entry of list.getEntries()) if (!entry.hadRecentInput) vitals.cls += entry.value }).observe({ type: 'layout-shift', buffered: true })
  new PerformanceObserver((list) => { for (const entry of list.getEntries()) if (entry.interactionId) vitals.inpMs = Math.max(vitals.inpMs, entry.duration) }).observe({ type: 'event', buffered: true, durationThreshold: 16 })
`

export async function slowDown(context: BrowserContext, page: Page, line: Line, cpuSlower: number): Promise<void> {
  const session = await context.newCDPSession(page)
  await session.send('Network.enable')
  await session.send('Network.setCacheDisabled', { cacheDisabled: true })
  await session.send('Network.emulateNetworkConditions', line)
  await session.send('Emulation.setCPUThrottlingRate', { rate: cpuSlower })
}

export const median = (values: readonly number[]): number =>
  [...values].sort((a, b) => a - b)[Math.floor((values.length - 1) / 2)] ?? Number.NaN
