/** Works a sheet on the on-site pages with real taps, whatever it asks next; counts them. */
import type { Page } from 'playwright-core'

export interface Tapping {
  taps: number
  keys: number
}

/** What stands on the page and can be tapped next. */
const NEXT = `(() => {
  const seen = [...document.querySelectorAll('main button.main, main .stack > button')].find((one) => one.offsetParent && !one.disabled && !one.closest('details:not([open])'))
  const words = (one) => (one ? one.textContent.trim() : '')
  if (/Finished/.test(document.querySelector('[role=status].note')?.textContent ?? '')) return { kind: 'finished' }
  if (document.querySelector('#removal') && document.querySelector('#removal').value === '') return { kind: 'removal' }
  if (document.querySelector('#measured')) return { kind: 'measure', limits: document.querySelector('#limits').textContent }
  if (document.querySelector('section[aria-label="Function check"]')) return { kind: 'check' }
  if (document.querySelector('#minutes')) return { kind: 'finish', minutes: document.querySelector('#minutes').value }
  if (document.querySelector('#text-answer')) return { kind: 'text' }
  return seen ? { kind: 'tap', words: words(seen), step: document.querySelector('.step')?.textContent ?? '' } : { kind: 'nothing' }
})()`

interface Next {
  kind: 'finished' | 'removal' | 'measure' | 'check' | 'finish' | 'text' | 'tap' | 'nothing'
  words?: string
  minutes?: string
}

async function tap(page: Page, selector: string, counted: Tapping): Promise<void> {
  await page.click(selector)
  counted.taps += 1
}

/** A finger goes to the field, then types. */
async function type(page: Page, selector: string, text: string, counted: Tapping): Promise<void> {
  await tap(page, selector, counted)
  await page.keyboard.type(text)
  counted.keys += text.length
}

async function check(page: Page, counted: Tapping): Promise<void> {
  const asked = await page.$$eval('section[aria-label="Function check"] .strip', (strips) =>
    strips.map((strip) => ({
      id: strip.querySelector('input')?.id ?? '',
      asked: /Asked ([\d.]+)/.exec(strip.querySelector('label')?.textContent ?? '')?.[1] ?? '',
      given: strip.querySelector('input')?.value ?? '',
    })),
  )
  for (const { id, asked: length, given } of asked) if (given === '') await type(page, `#${id}`, length, counted)
  for (const name of ['covers', 'cord', 'wet'])
    if (await page.$(`input[name=${name}]:not(:checked)`)) await tap(page, `input[name=${name}]`, counted)
  await tap(page, 'button:has-text("Keep this check")', counted)
}

/** One thing at a time, and the page has answered it. @returns false when the sheet is finished */
export async function workOn(page: Page, counted: Tapping, measuredMm: string): Promise<boolean> {
  const before = await page.evaluate<string>(SHOWN)
  const goesOn = await tapNext(page, counted, measuredMm)
  if (goesOn) await untilOther(page, before)
  return goesOn
}

/** What changes with each entry, and not while one types; the bar on top changes by itself. */
export const SHOWN = `[...document.querySelectorAll('main h2, main .step, main section p.soft.small, main p.note[role=status], main button')].map((one) => one.textContent).join()`

/** For so long the pages take a tap on what has just come for the second one of a double tap. */
export const SETTLED_MS = 320

/** What has just come is tapped by somebody who has seen it. */
export async function tapNew(page: Page, selector: string): Promise<void> {
  await page.waitForSelector(selector)
  await page.waitForTimeout(SETTLED_MS)
  await page.click(selector)
}

/** Asked from here: the pages' policy forbids what a wait inside of them would evaluate. */
export async function untilOther(page: Page, before: string): Promise<void> {
  for (let look = 0; look < 100 && (await page.evaluate<string>(SHOWN)) === before; look += 1) await page.waitForTimeout(40)
  await page.waitForTimeout(SETTLED_MS)
}

async function tapNext(page: Page, counted: Tapping, measuredMm: string): Promise<boolean> {
  const next = await page.evaluate<Next>(NEXT)
  switch (next.kind) {
    case 'finished':
      return false
    case 'removal':
      await page.selectOption('#removal', 'planned')
      counted.taps += 2
      return true
    case 'measure':
      await type(page, '#measured', measuredMm, counted)
      await tap(page, 'button:has-text("Keep this value")', counted)
      return true
    case 'check':
      await check(page, counted)
      return true
    case 'text':
      await type(page, '#text-answer', 'seen', counted)
      await tap(page, 'button:has-text("Keep and go on")', counted)
      return true
    case 'finish':
      if (!next.minutes) await type(page, '#minutes', '12', counted)
      await tap(page, 'form button.main', counted)
      return true
    case 'tap':
      await tap(
        page,
        (await page.$('main button.main:not([disabled])')) ? 'main button.main:not([disabled])' : 'main .stack > button',
        counted,
      )
      return true
    case 'nothing':
      await page.waitForTimeout(50)
      return true
  }
}

const MOST = 120

export async function workSheet(page: Page, measuredMm = '11.5'): Promise<Tapping> {
  const counted = { taps: 0, keys: 0 }
  for (let turn = 0; turn < MOST; turn += 1) if (!(await workOn(page, counted, measuredMm))) return counted
  throw new Error(`After ${MOST} taps the sheet is not finished: ${(await page.textContent('main'))?.slice(0, 400)}`)
}
