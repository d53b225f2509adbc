/** Parts on the phone: the one that went in is asked for, and one that was taken by mistake goes back to the shelf, also without a network. */
import { expect } from '@jest/globals'
import { join } from 'node:path'
import type { BrowserContext, Page } from 'playwright-core'
import { workOn, workSheet } from './phone-sheet.js'
import { type Client, until } from './running.js'
import { wrongWith } from './states.js'

const MOST_TAPS = 60

async function upToTheParts(page: Page): Promise<void> {
  const counted = { taps: 0, keys: 0 }
  for (let turn = 0; turn < MOST_TAPS && !(await page.$('#removal')); turn += 1) await workOn(page, counted, '11.5')
  await page.waitForSelector('#removal')
}

/** @param order to replace a part of which the warehouse has some  @param onSite address of the pages */
export async function takeAndPutBack(
  { context, page }: { context: BrowserContext; page: Page },
  manager: Client,
  order: any,
  onSite: string,
  shots: string,
): Promise<void> {
  const [{ componentKey }] = order.tasks.flatMap(({ parts }: any) => parts)
  const fitting = order.partsThatFit.find((one: any) => one.componentKey === componentKey)
  await manager.must('PUT', `/api/v1/parts/${fitting.partId}/stock/${order.warehouse.id}`, { onHand: 3, leadTimeDays: 7 })
  const onHand = async (): Promise<number> =>
    (await manager.get(`/api/v1/parts/${fitting.partId}`)).stock.find(({ warehouseId }: any) => warehouseId === order.warehouse.id).onHand
  const before = await onHand()
  await page.goto(`${onSite}#/order/${order.id}`)
  await upToTheParts(page)
  await page.selectOption('#removal', 'worn')
  const done = page.getByRole('button', { name: 'This task is done' })
  expect(await done.isDisabled()).toBe(true)
  await page.screenshot({ path: join(shots, 'phone-parts-asked.png'), fullPage: true })
  await context.setOffline(true)
  const take = page.getByRole('button', { name: `Take one: ${fitting.name}` })
  await take.click()
  const used = page.getByText(`Used: 1 × ${fitting.name}`, { exact: true })
  await used.waitFor()
  await page.screenshot({ path: join(shots, 'phone-parts-taken.png'), fullPage: true })
  expect(await wrongWith(page)).toEqual([])
  await page.getByRole('button', { name: `Put one back: ${fitting.name}` }).click()
  await take.waitFor()
  expect([await used.count(), await done.isDisabled()]).toEqual([0, true])
  await take.click()
  await used.waitFor()
  await done.click()
  await context.setOffline(false)
  await page.evaluate("dispatchEvent(new Event('online')) && null")
  await until('the part to be booked once', 60, async () => (await onHand()) === before - 1)
  await workSheet(page)
  const ended = await until('the end on the server', 30, async () => {
    const sheet = await manager.get(`/api/v1/work-orders/${order.id}`)
    return sheet.state === 'done' ? sheet : null
  })
  expect(ended.partsUsed.map(({ partId, quantity }: any) => [partId, quantity])).toEqual([[fitting.partId, 1]])
  expect(await onHand()).toBe(before - 1)
}
