/**
 * The desk's pages as they are first loaded by a manager who is signed in, on a line and a processor such as Lighthouse takes for a
 * desk (10 Mbit/s, 40 ms for a round trip, no slow-down), with an empty cache: ratios of what was measured to its limit, so 1 and
 * less is within. Limits: LCP 2.5 s, INP 200 ms, CLS 0.1 (the 'good' values of web.dev/articles/vitals).
 */
import { type Browser, chromium, type Page } from 'playwright-core'
import { type BenchResult, summarise } from './result.js'
import { CHROMIUM, FLAGS, type Line, median, slowDown, startSystem, type System, type Vitals, WATCH } from './support-web.js'

const REPETITIONS = 5
const DESK = { width: 1280, height: 900 }
const LINE: Line = { offline: false, downloadThroughput: 10e6 / 8, uploadThroughput: 10e6 / 8, latency: 40 }
const CPU_SLOWER = 1
const LIMITS = { lcpMs: 2500, inpMs: 200, cls: 0.1 }
/** Its address, and what says that it is there. */
const PAGES = [
  ['this week', '/', 'h1:has-text("This week")'],
  ['coming up', '/coming-up', 'h1:has-text("Coming up")'],
  ['machines', '/machines', 'a[href^="/machines/"]'],
  ['stoppages', '/stoppages', 'h1:has-text("Stoppages")'],
  ['parts', '/parts', 'text=Add a part'],
] as const

async function signIn(page: Page, system: System): Promise<void> {
  const who = system.signIns.find(({ role }) => role === 'manager')
  await page.goto(system.urls.desk)
  await page.fill('input[type=email]', who?.email ?? '')
  await page.fill('input[type=password]', who?.password ?? '')
  await page.click('button:has-text("Sign in")')
  await page.waitForSelector('nav.places')
}

const settled = async (page: Page, there: string): Promise<void> => {
  await page.waitForSelector(there, { timeout: 60_000 })
  await page.waitForSelector('[aria-busy=true]', { state: 'detached' })
  await page.waitForTimeout(500)
}

/** The first load of one page; then by its links through two others and back. */
async function measureOnce(browser: Browser, system: System, address: string, there: string): Promise<Vitals> {
  const context = await browser.newContext({ viewport: DESK, serviceWorkers: 'block' })
  try {
    const first = await context.newPage()
    await signIn(first, system)
    await first.close()
    const page = await context.newPage()
    await page.addInitScript(WATCH)
    await slowDown(context, page, LINE, CPU_SLOWER)
    await page.goto(new URL(address, system.urls.desk).href)
    await settled(page, there)
    const loaded = await page.evaluate<Vitals>('({ ...vitals })')
    await page.click('nav.places a:has-text("Machines")')
    await settled(page, 'a[href^="/machines/"]')
    await page.click('a[href^="/machines/"]:visible >> nth=0')
    await settled(page, 'h2')
    await page.fill('.find input', 'ML')
    await page.click('nav.places a:has-text("This week")')
    await settled(page, 'h1:has-text("This week")')
    const walked = await page.evaluate<Vitals>('({ ...vitals })')
    return { ...loaded, inpMs: walked.inpMs }
  } finally {
    await context.close()
  }
}

export async function run(): Promise<BenchResult[]> {
  const system = await startSystem()
  const browser = await chromium.launch({ executablePath: CHROMIUM, args: FLAGS })
  try {
    const results: BenchResult[] = []
    for (const [name, address, there] of PAGES) {
      const vitals: Vitals[] = []
      for (let repetition = 0; repetition < REPETITIONS; repetition += 1) vitals.push(await measureOnce(browser, system, address, there))
      for (const [key, words, unit] of [
        ['lcpMs', 'LCP', ' ms'],
        ['inpMs', 'INP', ' ms'],
        ['cls', 'CLS', ''],
      ] as const) {
        const values = vitals.map((one) => one[key])
        const middle = key === 'cls' ? median(values).toFixed(3) : String(Math.round(median(values)))
        results.push(
          summarise(
            `desk ${words}, ${name}`,
            values.map((value) => value / LIMITS[key]),
            1,
            `${middle}${unit} of ${LIMITS[key]}`,
          ),
        )
      }
    }
    return results
  } finally {
    await browser.close()
    await system.stop()
  }
}
