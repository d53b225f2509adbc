/** Counts what a finger does: real taps that the page hears, and keys. */
import type { Page } from 'playwright-core'

const WATCH = `
  window.taps = 0
  window.keys = 0
  addEventListener('click', (event) => { if (event.isTrusted && event.detail > 0) window.taps += 1 }, true)
  addEventListener('keydown', (event) => { if (event.isTrusted) window.keys += 1 }, true)
`

export async function watchTaps(page: Page): Promise<void> {
  await page.addInitScript(WATCH)
}
export const tapsOf = (page: Page): Promise<{ taps: number; keys: number }> => page.evaluate('({ taps: window.taps, keys: window.keys })')
export const resetTaps = (page: Page): Promise<void> => page.evaluate('void (window.taps = window.keys = 0)')

/**
 * Card, Moran and Newell 1983: pointing 1.1 s and a press 0.2 s for a tap; 0.28 s a key for an average typist, doubled here for a
 * thumb on a phone's keys. What is thought, measured and turned by hand is not counted.
 */
export const tappingSeconds = ({ taps, keys }: { taps: number; keys: number }): number => taps * 1.3 + keys * 0.56
