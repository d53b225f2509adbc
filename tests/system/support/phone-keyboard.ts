/** The keyboard alone: from one thing to the next by Tab, with the focus seen on the way. */
import { expect } from '@jest/globals'
import type { Page } from 'playwright-core'
import { SHOWN, untilOther } from './phone-sheet.js'

/** Tab by Tab to what is called so, and that key; the focus must be seen on the way. */
export async function press(page: Page, words: RegExp, key = 'Enter'): Promise<void> {
  for (let step = 0; step < 90; step += 1) {
    const found = await page.evaluate<{ words: string; seen: boolean }>(`(() => {
      const one = document.activeElement
      if (!one || one === document.body) return { words: '', seen: true }
      const label = one.labels?.[0]?.textContent ?? ''
      const style = getComputedStyle(one)
      return { words: (one.getAttribute('aria-label') ?? '') + ' ' + one.textContent + ' ' + label, seen: style.outlineStyle !== 'none' || one.tagName === 'H1' || one.type === 'file' || one.type === 'radio' }
    })()`)
    expect([found.words, found.seen]).toEqual([found.words, true])
    if (words.test(found.words)) return page.keyboard.press(key)
    await page.keyboard.press('Tab')
  }
  throw new Error(`Nothing called ${words} is reached by the keyboard.`)
}

/** The next thing of a sheet, by keys. */
export async function byKeyboardOn(page: Page): Promise<void> {
  const before = await page.evaluate<string>(SHOWN)
  if (await page.$('#measured')) {
    await press(page, /, mm|how many/, 'End')
    await page.keyboard.type('11.5')
    await page.keyboard.press('Enter')
  } else if (await page.$('section[aria-label="Function check"]')) await checkByKeyboard(page)
  else if (await page.$('#text-answer')) {
    await press(page, /In your words/, 'End')
    await page.keyboard.type('seen')
    await page.keyboard.press('Enter')
  } else {
    const words = (await page.textContent('.part .pair button.main, .part button.main, .part .stack > button'))?.trim() ?? ''
    await press(page, new RegExp(`^ *${words.replace(/[.*+?^${}()|[\]\\]/g, '\\$&')}`))
  }
  await untilOther(page, before)
}

async function checkByKeyboard(page: Page): Promise<void> {
  const labels = await page.$$eval('.strip label', (all) => all.map((label) => label.textContent ?? ''))
  for (const label of labels) {
    const asked = /Asked ([\d.]+)/.exec(label)?.[1] ?? ''
    await press(page, new RegExp(`Asked ${asked}`), 'End')
    await page.keyboard.type(asked)
    // Two strips may be asked with one length: the next Tab goes on from here.
    await page.keyboard.press('Tab')
  }
  await press(page, /covers are on/, 'Space')
  // A lever machine has none.
  if (await page.$('input[name=cord]')) await press(page, /looked at (cord|cable)/, 'Space')
  if (await page.$('input[name=wet]')) await press(page, /paper tore/, 'Space')
  await press(page, /Keep this check/)
}
