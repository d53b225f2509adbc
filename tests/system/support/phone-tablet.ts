/** A shared tablet in a real browser: who is working is asked before each sheet, also without a network. */
import { expect } from '@jest/globals'
import type { Page } from 'playwright-core'
import { type Ground, issued, PHONE, technicianOf, who } from './phone-ground.js'
import { tapNew } from './phone-sheet.js'
import { until } from './running.js'
import { wrongWith } from './states.js'

async function typeCode(page: Page, name: string, code: string): Promise<void> {
  const choice = await page.$(`.stack > button:has-text("${name}")`)
  if (choice) await choice.click()
  for (const digit of code) await page.click(`.pad button:text-is("${digit}")`)
  await page.click('.pad button.main')
}

export async function sharedTablet(ground: Ground): Promise<void> {
  const { system, manager } = ground
  const { client, warehouseIds } = await technicianOf(ground)
  await client.must('PUT', '/api/v1/me/short-code', { code: '2580' })
  await manager.must('PUT', '/api/v1/me/short-code', { code: '70414' })
  const drafted = (await manager.all('/api/v1/work-orders?state=drafted')).filter(({ skill }) => skill === 'technician')
  const many = (id: string): number => drafted.filter(({ warehouse }) => warehouse.id === id).length
  const [hallId] = warehouseIds.toSorted((a, b) => many(b) - many(a))
  const there = ({ warehouse }: any): boolean => warehouse.id === hallId
  const orders = [await issued(ground, { order: there }), await issued(ground, { order: there })]
  const { context, page } = await ground.open(PHONE)
  await ground.signIn(page, `${system.urls.onSite}#/shared-tablet`, 'manager').catch(() => undefined)
  await page.goto(`${system.urls.onSite}#/shared-tablet`)
  await page.waitForSelector('#tablet-name')
  expect(await wrongWith(page)).toEqual([])
  await page.selectOption('#tablet-warehouse', hallId ?? '')
  await page.fill('#tablet-name', 'Dock 3')
  await page.click('button:has-text("Make it a shared tablet")')
  await page.waitForSelector('h1:has-text("Who is working?")')
  expect(await wrongWith(page)).toEqual([])
  const tamsin = who(ground, 'technician').name
  const maren = who(ground, 'manager').name
  await typeCode(page, tamsin, '1357')
  await page.waitForSelector('[role=alert]')
  expect(await wrongWith(page)).toEqual([])
  await typeCode(page, tamsin, '2580')
  await page.waitForSelector('h2:has-text("Your orders")')
  await page.click(`a[href="#/order/${orders[0].id}"]`)
  await page.click('button:has-text("Accept")')
  await page.waitForSelector('text=/^I have read this/')
  await tapNew(page, 'button:has-text("I have read this")')
  await until('the entry', 20, async () => (await manager.get(`/api/v1/work-orders/${orders[0].id}`)).acknowledged)
  // The next sheet is somebody else's.
  await page.goto(`${system.urls.onSite}#/order/${orders[1].id}`)
  await page.waitForSelector('.pad')
  await page.click('button:has-text("Somebody else")')
  await typeCode(page, maren, '70414')
  await page.click('button:has-text("Accept")')
  await page.waitForSelector('text=/All entries are saved/')
  const acceptedBy = async (id: string) =>
    (await manager.get(`/api/v1/work-orders/${id}`)).entries.find(({ kind }: any) => kind === 'accept')?.personName
  await until('the second entry', 20, async () => acceptedBy(orders[1].id))
  expect([await acceptedBy(orders[0].id), await acceptedBy(orders[1].id)]).toEqual([tamsin, maren])
  // No network: who was here before can work, and it goes out under their name.
  await until('the service worker', 20, () => page.evaluate<boolean>('navigator.serviceWorker.controller !== null'))
  await context.setOffline(true)
  await page.goto(`${system.urls.onSite}#/order/${orders[0].id}`)
  await page.waitForSelector('.pad, h1:has-text("Who is working?")')
  if (await page.$('.pad')) await page.click('button:has-text("Somebody else")')
  await typeCode(page, tamsin, '1357')
  await page.waitForSelector('text=/not the code of/')
  await typeCode(page, tamsin, '2580')
  await tapNew(page, 'button:has-text("Begin the work")')
  await page.waitForSelector('text=/only on this phone/')
  await page.click('button:has-text("Somebody else, or done")')
  await context.setOffline(false)
  await page.evaluate("dispatchEvent(new Event('online')) && null")
  const started = await until('what was kept', 30, async () =>
    (await manager.get(`/api/v1/work-orders/${orders[0].id}`)).entries.find(({ kind }: any) => kind === 'start'),
  )
  expect(started.personName).toBe(tamsin)
  await context.close()
}
