/** The desk's pages in a browser: signed in at a size, looked at by axe, measured for what is too wide. */
import { AxeBuilder } from '@axe-core/playwright'
import { type Browser, type BrowserContext, chromium, type Page } from 'playwright-core'
import type { Started } from './running.js'

export const CHROMIUM = '/usr/bin/chromium'
const FLAGS = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-sync']
export const DESK = { width: 1280, height: 900 }
export const PHONE = { width: 390, height: 844 }

export interface AtTheDesk {
  /** What pages threw. */
  faults: string[]
  open(size: { width: number; height: number }, role: string, path: string): Promise<{ context: BrowserContext; page: Page }>
  to(page: Page, path: string): Promise<unknown>
  close(): Promise<void>
}

export async function atTheDesk(system: Started): Promise<AtTheDesk> {
  const browser: Browser = await chromium.launch({ executablePath: CHROMIUM, args: FLAGS })
  const faults: string[] = []
  const to = (page: Page, path: string) => page.goto(new URL(path, system.urls.desk).href)
  return {
    faults,
    to,
    async open(size, role, path) {
      // Pages go by the clocks of the warehouse, whatever those of the browser are.
      const context = await browser.newContext({ viewport: size, timezoneId: 'Pacific/Auckland' })
      const page = await context.newPage()
      page.on('pageerror', (error) => faults.push(String(error)))
      await to(page, path)
      const who = system.signIns.find((person) => person.role === role)
      await page.fill('input[type=email]', who?.email ?? '')
      await page.fill('input[type=password]', who?.password ?? '')
      await page.click('button:has-text("Sign in")')
      await page.waitForSelector('nav.places')
      return { context, page }
    },
    close: () => browser.close(),
  }
}

export async function violations(page: Page): Promise<string[]> {
  const { violations: found } = await new AxeBuilder({ page }).analyze()
  return found.flatMap(({ id, nodes }) => nodes.map(({ target, html }) => `${id}: ${target.join(' ')} ${html.slice(0, 400)}`))
}
export const isWide = (page: Page): Promise<boolean> =>
  page.evaluate<boolean>('document.documentElement.scrollWidth - document.documentElement.clientWidth > 1')
