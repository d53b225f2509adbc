/** Opened anew without a network, the pages stand as the last tap left them. */
import { expect } from '@jest/globals'
import type { BrowserContext, Page } from 'playwright-core'
import { tapNew } from './phone-sheet.js'
import { type Client, until } from './running.js'

export interface OnTheWay {
  order: { id: string; number: number; machine: { labelCode: string } }
  warehouse: { id: string; name: string }
  /** Of a machine that runs. */
  running: { id: string; labelCode: string }
}

const linkTo = (page: Page, address: string): Promise<string> =>
  page
    .locator(`a[href="#/${address}"]`)
    .textContent()
    .then((text) => text ?? '')

export async function reloadWithoutNetwork(
  { context, page }: { context: BrowserContext; page: Page },
  manager: Client,
  { order, warehouse, running }: OnTheWay,
  onSite: string,
): Promise<void> {
  const stands = 'button:has-text("It stands still: what is wrong?")'
  await page.goto(`${onSite}#/order/${order.id}`)
  await page.waitForSelector('button:has-text("Accept")')
  await page.goto(`${onSite}#/machine/${running.labelCode}`)
  await page.waitForSelector(stands)
  await page.goto(`${onSite}#/round/${warehouse.id}`)
  await page.waitForSelector('main li.part button.main, button:has-text("I have read this")')
  if (await page.$('button:has-text("I have read this")')) await page.click('button:has-text("I have read this")')
  await page.waitForSelector('main li.part button.main')
  const [first = '', second = ''] = (
    await page.$$eval('main li.part button.main', (all) => all.map((one) => one.getAttribute('aria-label') ?? ''))
  ).map((label) => label.replace(/ done$/, ''))
  const done = (label: string): string => `button[aria-label="${label} done"]`
  await tapNew(page, done(first))
  await page.waitForSelector(`button[aria-label="Undo ${first}"]`)
  await page.waitForSelector('text=/All entries are saved/')
  await until('the service worker', 20, () => page.evaluate<boolean>('navigator.serviceWorker.controller !== null'))
  await page.goto(`${onSite}#/`)
  await page.waitForSelector(`a[href="#/round/${warehouse.id}"]:has-text("still to do")`)
  const [, before] = /(\d+) machines? still to do/.exec(await linkTo(page, `round/${warehouse.id}`)) ?? []

  await context.setOffline(true)
  await page.goto(`${onSite}#/machine/${running.labelCode}`)
  await page.click(stands)
  await tapNew(page, 'button:has-text("jammed")')
  await page.waitForSelector('text=/Written down/')
  await page.reload()
  await page.waitForSelector('text="It was reported as standing still."')
  expect(await page.locator(stands).count()).toBe(0)
  await page.click('button:has-text("It works again")')
  await page.waitForSelector('text="Written down as back in use."')
  await page.reload()
  await page.waitForSelector(stands)
  await page.goto(`${onSite}#/order/${order.id}`)
  await page.click('button:has-text("Accept")')
  await page.waitForSelector('text=/^I have read this/')
  await page.goto(`${onSite}#/round/${warehouse.id}`)
  // One that the server has, and one after it.
  await tapNew(page, `button[aria-label="Undo ${first}"]`)
  await tapNew(page, done(second))
  await page.waitForSelector('text=/kept on this phone/')
  await page.reload()
  await page.waitForSelector(done(first))
  await page.goto(`${onSite}#/`)
  await page.waitForSelector(`a[href="#/order/${order.id}"]`)
  expect(await linkTo(page, `order/${order.id}`)).toContain('to begin, kept on this phone')
  expect(await linkTo(page, `round/${warehouse.id}`)).toContain(`${before} machine`)

  await context.setOffline(false)
  await page.evaluate("dispatchEvent(new Event('online')) && null")
  await page.waitForSelector('text=/All entries are saved/', { timeout: 60_000 })
  const { lines } = await manager.get(`/api/v1/rounds?warehouseId=${warehouse.id}`)
  const answers = [first, second].map((label) => lines.find(({ labelCode }: any) => labelCode === label).answer?.outcome)
  expect(answers).toEqual([undefined, 'done'])
  const { items } = await manager.get(`/api/v1/stoppages?machineId=${running.id}`)
  expect(items.filter(({ failureMode, note }: any) => failureMode === 'jammed' && note === '').map(({ open }: any) => open)).toContain(
    false,
  )
  expect(items.filter(({ open }: any) => open)).toEqual([])
}
