/** One state of a page looked at in every way at once: axe in light and dark, 320 px, four times enlarged, letters twice as large. */
import { AxeBuilder } from '@axe-core/playwright'
import type { Page } from 'playwright-core'

/** A desk's window of 1280 × 1024 enlarged four times (WCAG 2.2, 1.4.10). */
const ENLARGED = { width: 320, height: 256 }
/** Of the issue: main targets of the hand's pages. */
const TARGET_PX = 48

const WIDE = `(() => {
  const page = document.documentElement
  return page.scrollWidth - page.clientWidth > 1
    ? ['page ' + page.scrollWidth, ...[...document.querySelectorAll('main *')].filter((one) => one.getBoundingClientRect().right > page.clientWidth + 1).map((one) => one.tagName + ' ' + one.className + ' ' + one.textContent.slice(0, 30)).slice(0, 3)]
    : []
})()`
const SMALL = `[...document.querySelectorAll('main button, main a.button, main .lines a, main select, main input:not([type=radio]):not([type=checkbox]):not([type=file]), main .kept > a, main summary')]
  .filter((one) => one.offsetParent && (one.getBoundingClientRect().height < ${TARGET_PX} || one.getBoundingClientRect().width < ${TARGET_PX}))
  .map((one) => one.tagName + ' ' + one.textContent.slice(0, 30) + ' ' + Math.round(one.getBoundingClientRect().height))`
const CUT = `[...document.querySelectorAll('main button, main a.button, main label, main h1, main h2')]
  .filter((one) => one.offsetParent && one.scrollWidth > one.clientWidth + 1 && getComputedStyle(one).overflow !== 'visible')
  .map((one) => one.tagName + ' ' + one.textContent.slice(0, 30))`

async function violations(page: Page, rules?: string[]): Promise<string[]> {
  const builder = new AxeBuilder({ page })
  const { violations: found } = await (rules ? builder.withRules(rules) : builder).analyze()
  return found.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target.join(' ')}`))
}

/**
 * @param inTheDark look at the dark colours, too: they are the same everywhere, so not in every state
 * @returns everything that is wrong, in words; an empty list where nothing is
 */
export async function wrongWith(page: Page, inTheDark = false): Promise<string[]> {
  const size = page.viewportSize() ?? { width: 390, height: 844 }
  const light = await violations(page)
  const small = await page.evaluate<string[]>(SMALL)
  if (inTheDark) await page.emulateMedia({ colorScheme: 'dark' })
  const dark = inTheDark ? await violations(page, ['color-contrast']) : []
  if (inTheDark) await page.emulateMedia({ colorScheme: 'light' })
  await page.evaluate("document.documentElement.style.fontSize = '200%'")
  const doubled = [...(await page.evaluate<string[]>(WIDE)), ...(await page.evaluate<string[]>(CUT))]
  await page.evaluate("document.documentElement.style.fontSize = ''")
  await page.setViewportSize(ENLARGED)
  const enlarged = [...(await page.evaluate<string[]>(WIDE)), ...(await page.evaluate<string[]>(CUT))]
  await page.setViewportSize(size)
  return [
    ...light,
    ...dark.map((one) => `dark ${one}`),
    ...small.map((one) => `small ${one}`),
    ...doubled.map((one) => `200 % ${one}`),
    ...enlarged.map((one) => `320 px ${one}`),
  ]
}
