/**
 * P14 of speed.md: the desk's list of 2 000 machines, loaded to its end and scrolled, in a real browser; and 500 machines
 * changed at once and taken back at once, against as many changes one by one.
 */
import { REQUEST_HEADER } from '@tapewarden/shared'
import { chromium, type Page } from 'playwright-core'
import { type BenchResult, summarise } from './result.js'
import { EMAIL, givePassword, PASSWORD, Server, signIn } from './support-api.js'
import { makeFleet } from './support-fleet.js'
import { startBenchServer } from './support-server.js'

const CHROMIUM = '/usr/bin/chromium'
const FLAGS = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-sync']
const MACHINES = 2000
const LONGEST_TASK_MS = 200
const CHANGED = 500
const ONE_BY_ONE = 20
const REPETITIONS = 5

/** Longest task of the page's main thread since it was last asked. */
const WATCH = `window.longest = 0; new PerformanceObserver((list) => { for (const { duration } of list.getEntries()) longest = Math.max(longest, duration) }).observe({ type: 'longtask' })`

async function longest(page: Page): Promise<number> {
  await page.waitForTimeout(300)
  return page.evaluate<number>('(() => { const ms = longest; longest = 0; return ms })()')
}

async function scrolled(page: Page): Promise<number> {
  await longest(page)
  for (const way of [1, -1])
    for (let step = 0; step < 40; step += 1) {
      await page.mouse.wheel(0, way * 2500)
      await page.waitForTimeout(25)
    }
  return longest(page)
}

async function inBrowser(url: string): Promise<BenchResult[]> {
  const browser = await chromium.launch({ executablePath: CHROMIUM, args: FLAGS })
  try {
    const page = await browser.newPage({ viewport: { width: 1280, height: 900 } })
    await page.addInitScript(WATCH)
    await page.goto(url)
    await page.fill('input[type=email]', EMAIL)
    await page.fill('input[type=password]', PASSWORD)
    await page.click('button:has-text("Sign in")')
    await page.waitForSelector('nav.places')
    await page.goto(`${url}/machines?order=label`)
    await page.waitForSelector('main tbody tr')
    const loading: number[] = []
    const more = page.getByRole('button', { name: 'Show more' })
    while (await more.isVisible()) {
      const rows = await page.locator('main tbody tr').count()
      await more.click()
      await page.locator('main tbody tr').nth(rows).waitFor()
      loading.push(await longest(page))
    }
    const rows = await page.locator('main tbody tr').count()
    await page.mouse.move(640, 500)
    const scrolls: number[] = []
    for (let repetition = 0; repetition < REPETITIONS; repetition += 1) scrolls.push(await scrolled(page))
    const said = (times: readonly number[]): string =>
      `longest task ${Math.round(Math.max(...times))} ms of ${LONGEST_TASK_MS}; ${rows} rows`
    return [
      summarise(
        'P14 list, scrolled from end to end',
        scrolls.map((ms) => ms / LONGEST_TASK_MS),
        1,
        said(scrolls),
      ),
      summarise(
        'P14 list, the next hundred rows shown',
        loading.map((ms) => ms / LONGEST_TASK_MS),
        1,
        said(loading),
      ),
    ]
  } finally {
    await browser.close()
  }
}

async function manyAtOnce(url: string): Promise<BenchResult[]> {
  const cookie = await signIn(url)
  const ask = async <Answer>(method: string, path: string, body?: unknown): Promise<Answer> => {
    const reply = await fetch(`${url}/api/v1/${path}`, {
      method,
      headers: { cookie, [REQUEST_HEADER]: '1', ...(body === undefined ? {} : { 'content-type': 'application/json' }) },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    })
    if (!reply.ok) throw new Error(`${method} ${path} answered ${reply.status}: ${await reply.text()}`)
    return (await reply.json()) as Answer
  }
  const ids: string[] = []
  for (let cursor = ''; ids.length < CHANGED + ONE_BY_ONE;) {
    const page = await ask<{ items: { id: string }[]; nextCursor: string }>('GET', `machines?limit=200${cursor ? `&cursor=${cursor}` : ''}`)
    ids.push(...page.items.map(({ id }) => id))
    cursor = page.nextCursor
  }
  const timed = async (work: () => Promise<unknown>): Promise<number> => {
    const began = performance.now()
    await work()
    return performance.now() - began
  }
  const [machineIds, singles] = [ids.slice(0, CHANGED), ids.slice(CHANGED, CHANGED + ONE_BY_ONE)]
  const changes: number[] = []
  const undos: number[] = []
  const oneByOne: number[] = []
  for (let repetition = 0; repetition < REPETITIONS; repetition += 1) {
    let change = { id: '' }
    changes.push(
      await timed(async () => (change = await ask('POST', 'fleet-changes', { machineIds, fields: { serviceFirm: `Firm ${repetition}` } }))),
    )
    undos.push(await timed(() => ask('POST', `fleet-changes/${change.id}/undo`)))
    const single = await timed(async () => {
      for (const id of singles) await ask('PATCH', `machines/${id}`, { serviceFirm: `Firm ${repetition}` })
    })
    oneByOne.push((single / ONE_BY_ONE) * CHANGED)
  }
  const ratios = (times: readonly number[]): number[] => times.map((ms, at) => ms / (oneByOne[at] ?? Number.NaN))
  const seconds = (times: readonly number[]): string =>
    `${(([...times].sort((a, b) => a - b)[Math.floor(REPETITIONS / 2)] ?? Number.NaN) / 1000).toFixed(1)} s`
  return [
    summarise(`${CHANGED} machines changed at once`, ratios(changes), 1, `${seconds(changes)}, one by one ${seconds(oneByOne)}`),
    summarise(`${CHANGED} machines put back at once`, ratios(undos), 1, `${seconds(undos)}, one by one ${seconds(oneByOne)}`),
  ]
}

export async function run(): Promise<BenchResult[]> {
  const server = await startBenchServer()
  const fleet = await makeFleet(server.owner, MACHINES, 1)
  await givePassword(server.owner, fleet.organisationId)
  const api = await Server.start('product', server.appUrl, `${fleet.today}T10:00:00Z`)
  try {
    return [...(await inBrowser(api.url)), ...(await manyAtOnce(api.url))]
  } finally {
    api.end()
    await server.stop()
  }
}
