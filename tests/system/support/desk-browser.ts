/** A browser at the desk of one whole installation: opens pages as one of its people, and says what is wrong with a page. */
import { AxeBuilder } from '@axe-core/playwright'
import { existsSync, mkdirSync } from 'node:fs'
import { join } from 'node:path'
import { type Browser, type BrowserContext, chromium, type Page } from 'playwright-core'
import type { Started } from './running.js'

const CHROMIUM = '/usr/bin/chromium'
const FLAGS = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-sync']
export const DESK = { width: 1280, height: 900 }
export const PHONE = { width: 390, height: 844 }
const SHOTS = join(process.cwd(), '.data', 'shots')
export const hasBrowser = existsSync(CHROMIUM)

export interface DeskBrowser {
  /** What any page threw. */
  faults: string[]
  open(size: { width: number; height: number }, role: string, address?: string): Promise<{ context: BrowserContext; page: Page }>
  close(): Promise<void>
}

export async function openDeskBrowser(system: Started): Promise<DeskBrowser> {
  mkdirSync(SHOTS, { recursive: true })
  const browser: Browser = await chromium.launch({ executablePath: CHROMIUM, args: FLAGS })
  const faults: string[] = []
  return {
    faults,
    async open(size, role, address = system.urls.desk) {
      const { email, password } = system.signIns.find((person) => person.role === role)!
      const context = await browser.newContext({ viewport: size })
      const page = await context.newPage()
      page.on('pageerror', (error) => faults.push(String(error)))
      await page.goto(address)
      await page.fill('input[type=email]', email)
      await page.fill('input[type=password]', password)
      await page.click('button:has-text("Sign in")')
      await page.waitForSelector('nav.places, h1:has-text("Here, today")')
      return { context, page }
    },
    close: () => browser.close(),
  }
}

export const shoot = (page: Page, name: string): Promise<unknown> => page.screenshot({ path: join(SHOTS, `${name}.png`), fullPage: true })

/** @returns what axe finds and whether it scrolls sideways; an empty list where nothing is wrong */
export async function wrongAtDesk(page: Page): Promise<string[]> {
  const { violations } = await new AxeBuilder({ page }).analyze()
  const isWide = await page.evaluate<boolean>('document.documentElement.scrollWidth - document.documentElement.clientWidth > 1')
  return [
    ...violations.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target.join(' ')}`)),
    ...(isWide ? ['scrolls sideways'] : []),
  ]
}
