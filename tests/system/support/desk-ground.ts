/** The desk's pages in a real browser, signed in, and what is wrong with how one looks. */
import { AxeBuilder } from '@axe-core/playwright'
import { mkdirSync } from 'node:fs'
import { join } from 'node:path'
import { type Browser, chromium, type Page } from 'playwright-core'
import { type Client, clientOf, startSystem, type Started, until } from './running.js'

export const CHROMIUM = '/usr/bin/chromium'
const FLAGS = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-sync']
export const DESK = { width: 1280, height: 900 }
export const PHONE = { width: 390, height: 844 }
const SHOTS = join(process.cwd(), '.data', 'shots')
const NARROW = { width: 320, height: 800 }

export interface DeskGround {
  system: Started

  /** Asks the api as this role. */
  client(role: string): Promise<Client>
  /** Pages go by the clocks of the warehouse, whatever those of the browser are. */
  open(size: { width: number; height: number }, role: string, path: string, timezoneId?: string): Promise<Page>
  to(page: Page, path: string): Promise<unknown>
  /** Errors that pages threw. */
  faults: readonly string[]
  stop(): Promise<void>
}

export async function startDeskGround(): Promise<DeskGround> {
  mkdirSync(SHOTS, { recursive: true })
  const system = await startSystem({ demo: 'full' })
  const browser: Browser = await chromium.launch({ executablePath: CHROMIUM, args: FLAGS })
  const faults: string[] = []
  const who = (role: string): Started['signIns'][number] => system.signIns.find((person) => person.role === role)!
  const client = async (role: string): Promise<Client> => {
    const made = await clientOf(system)
    await made.signIn(who(role))
    return made
  }
  const manager = await client('manager')
  await until('the planning pass', 120, async () => (await manager.get('/api/v1/warehouses')).items.every(({ upToDate }: any) => upToDate))
  const to = (page: Page, path: string): Promise<unknown> => page.goto(new URL(path, system.urls.desk).href)
  return {
    system,
    client,
    faults,
    to,
    async open(size, role, path, timezoneId) {
      const page = await (await browser.newContext({ viewport: size, ...(timezoneId ? { timezoneId } : {}) })).newPage()
      page.on('pageerror', (error) => faults.push(String(error)))
      await to(page, path)
      await page.fill('input[type=email]', who(role).email)
      await page.fill('input[type=password]', who(role).password)
      await page.click('button:has-text("Sign in")')
      await page.waitForSelector('nav.places, h1:has-text("Here, today")')
      return page
    },
    async stop() {
      await browser.close()
      await system.stop()
    },
  }
}

/** Axe in light and dark, and the page at its own width and at 320 px; a picture of each. @returns what is wrong, in words */
export async function wrongWith(page: Page, name: string): Promise<string[]> {
  const size = page.viewportSize() ?? DESK
  const seen = async (rules?: string[]): Promise<string[]> => {
    const builder = new AxeBuilder({ page })
    const { violations: seenBy } = await (rules ? builder.withRules(rules) : builder).analyze()
    return seenBy.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target.join(' ')}`))
  }
  const wide = async (): Promise<string[]> => {
    const by = await page.evaluate<number>('document.documentElement.scrollWidth - document.documentElement.clientWidth')
    return by > 1 ? [`${page.viewportSize()?.width} px: ${by} px too wide`] : []
  }
  const shoot = (way: string): Promise<unknown> => page.screenshot({ path: join(SHOTS, `${name}-${way}.png`), fullPage: true })
  const found = [...(await seen()), ...(await wide())]
  await shoot('light')
  await page.emulateMedia({ colorScheme: 'dark' })
  found.push(...(await seen(['color-contrast'])))
  await shoot('dark')
  await page.emulateMedia({ colorScheme: 'light' })
  await page.setViewportSize(NARROW)
  found.push(...(await wide()))
  await page.setViewportSize(size)
  return found
}

export async function violations(page: Page): Promise<string[]> {
  const { violations: found } = await new AxeBuilder({ page }).analyze()
  return found.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target.join(' ')}`))
}
export const isWide = (page: Page): Promise<boolean> =>
  page.evaluate<boolean>('document.documentElement.scrollWidth - document.documentElement.clientWidth > 1')

export const shoot = (page: Page, name: string): Promise<unknown> => page.screenshot({ path: join(SHOTS, `${name}.png`), fullPage: true })

/** @returns what axe finds and whether it scrolls sideways; an empty list where nothing is wrong */
export const wrongHere = async (page: Page): Promise<string[]> => [
  ...(await violations(page)),
  ...((await isWide(page)) ? ['scrolls sideways'] : []),
]
