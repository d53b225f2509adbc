/** One page in one state, looked at in every way: axe, cut words, forced colours, motion, the keyboard. */
import { AxeBuilder } from '@axe-core/playwright'
import { mkdirSync } from 'node:fs'
import { join } from 'node:path'
import type { Page } from 'playwright-core'
import type { Place, State } from './places.js'

const DESK = { width: 1280, height: 900 }
const PHONE = { width: 390, height: 844 }
/** A desk's window of 1280 × 1024 enlarged four times (WCAG 2.2, 1.4.10). */
const ENLARGED = { width: 320, height: 256 }
export const SHOTS = join(process.cwd(), '.data', 'shots', 'sweep')

const asked = (page: Page, what: string): Promise<string[]> => page.evaluate<string[]>(`looks.${what}`)
const inWords =
  (where: string) =>
  (found: readonly string[]): string[] =>
    found.map((one) => `${where}: ${one}`)

async function violations(page: Page, rules?: string[]): Promise<string[]> {
  // No page has a frame: none has to be opened for them.
  const builder = new AxeBuilder({ page }).setLegacyMode()
  const { violations: found } = await (rules ? builder.withRules(rules) : builder).analyze()
  return found.flatMap(({ id, nodes }) => nodes.slice(0, 5).map(({ target }) => `axe ${id}: ${target.join(' ')}`))
}

/** Until nothing of the page is still on its way. */
async function settle(page: Page): Promise<string[]> {
  for (const end = Date.now() + 20_000; Date.now() < end;) {
    if (!(await page.evaluate<boolean>('looks.waiting()'))) return []
    await page.waitForTimeout(50)
  }
  return ['still waiting after 20 s, without a word']
}

async function enlarged(page: Page, size: { width: number; height: number }): Promise<string[]> {
  await page.evaluate("document.documentElement.style.fontSize = '200%'")
  const twice = inWords('letters at 200 %')(await asked(page, 'cut()'))
  await page.evaluate("document.documentElement.style.fontSize = ''")
  await page.setViewportSize(ENLARGED)
  const narrow = inWords('320 px')(await asked(page, 'cut()'))
  await page.setViewportSize(size)
  return [...twice, ...narrow]
}

async function walk(page: Page, most: number): Promise<string[]> {
  const presses = await page.evaluate<number>('looks.beginWalk()')
  for (let press = 0; press < Math.min(presses, most); press += 1) await page.keyboard.press('Tab')
  return asked(page, `endWalk(${presses <= most})`)
}

export interface Thoroughness {
  /** Presses of Tab at most; a page with more is walked in part. */
  tabs: number
  /** The colours that all of axe's rules are run in; 'both': in light, then those of the dark; null: axe is not asked. */
  scheme: 'light' | 'dark' | 'both' | null
  /** The desk's pages at a phone's width, too, and pictures of all of it. */
  whole: boolean
}

/** Of the colours alone, where everything else was looked at before. */
const COLOURS = ['color-contrast']

/** @returns everything that is wrong, in words */
export async function faultsOf(page: Page, { on, name }: Place, state: State, { tabs, scheme, whole }: Thoroughness): Promise<string[]> {
  const size = on === 'desk' ? DESK : PHONE
  mkdirSync(SHOTS, { recursive: true })
  const shoot = async (way: string): Promise<void> => {
    if (whole) await page.screenshot({ path: join(SHOTS, `${`${name} ${state} ${way}`.replaceAll(/[^\w]+/g, '-')}.png`), fullPage: true })
  }
  await page.setViewportSize(size)
  const found = await settle(page)
  // What stands folded is looked at, too; it may have to be fetched first.
  if ((await page.evaluate<number>('looks.unfold()')) > 0) found.push(...(await settle(page)))
  if ((await page.evaluate<string>('looks.words()')).length < 20) found.push('says nothing')

  if (scheme === 'light' || scheme === 'both') found.push(...(await violations(page)))
  found.push(
    ...inWords(`${size.width} px`)(await asked(page, 'cut()')),
    ...(await enlarged(page, size)),
    ...(tabs === 0 ? [] : await walk(page, tabs)),
  )
  await page.emulateMedia({ colorScheme: 'dark', reducedMotion: 'reduce' })
  if (scheme === 'dark' || scheme === 'both')
    found.push(...inWords('dark')(await violations(page, scheme === 'both' ? COLOURS : undefined)))
  found.push(...(await asked(page, 'moving()')))
  await shoot('dark')
  await page.emulateMedia({ colorScheme: 'light', forcedColors: 'active' })
  found.push(...inWords('forced colours')(await asked(page, 'forced()')))
  if (state === 'much') await shoot('forced')
  await page.emulateMedia({ colorScheme: null, forcedColors: null, reducedMotion: null })
  if (!whole) return found
  await page.setViewportSize({ ...ENLARGED, height: 800 })
  await shoot('320')
  if (on === 'hand') return found
  await page.setViewportSize(PHONE)
  const narrow = [...(scheme === null ? [] : await violations(page)), ...(await asked(page, 'cut()'))]
  return [...found, ...inWords('390 px')(narrow)]
}
