/** What was tapped or typed by mistake is put right on the phone, also without a network. */
import { expect } from '@jest/globals'
import { join } from 'node:path'
import type { BrowserContext, Locator, Page } from 'playwright-core'
import type { OnTheWay } from './phone-reload.js'
import { SETTLED_MS, workOn, workSheet } from './phone-sheet.js'
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
  const { partId } = order.partsThatFit.find((one: any) => one.componentKey === componentKey)
  // No word of it may push a column out of the screen.
  const fitting = await manager.must('PATCH', `/api/v1/parts/${partId}`, { name: 'Kohlebürstensatzersatzteilverpackungseinheit' })
  fitting.partId = partId
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
  // The same pages in a second window of this phone.
  const beside = await context.newPage()
  await beside.goto(onSite)
  await beside.getByText('All entries are saved.').waitFor()
  await context.setOffline(true)
  const take = page.getByRole('button', { name: `Take one: ${fitting.name}` })
  await take.click()
  const used = page.getByText(`Used: 1 × ${fitting.name}`, { exact: true })
  await used.waitFor()
  await page.screenshot({ path: join(shots, 'phone-parts-taken.png'), fullPage: true })
  expect(await wrongWith(page)).toEqual([])
  await beside.getByText('1 entry is only on this phone. No network.').waitFor({ timeout: 15_000 })
  await beside.close()
  await page.getByRole('button', { name: `Put one back: ${fitting.name}` }).click()
  await take.waitFor()
  await page.waitForTimeout(SETTLED_MS)
  expect([await used.count(), await done.isDisabled()]).toEqual([0, true])
  await take.click()
  await used.waitFor()
  await page.waitForTimeout(SETTLED_MS)
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

/** For so long a page that is under load may take to note what has come; much less than it lets pass after that. */
const SECOND_TAP_MS = 60

/**
 * The second tap of one finger falls on what has come by then. It is made inside the page, where a loaded machine does not make it late.
 * @param come and next what stands on them, or its beginning
 */
export async function tapTwice(page: Page, button: Locator, come: string, next: string): Promise<void> {
  const second = page.evaluate(`new Promise((done) => {
    const find = (words) => [...document.querySelectorAll('main button, main p')].find((one) => (one.getAttribute('aria-label') ?? one.textContent.trim()).startsWith(words))
    const look = setInterval(() => {
      if (!find(${JSON.stringify(come)}) || !find(${JSON.stringify(next)})) return
      clearInterval(look)
      setTimeout(() => {
        find(${JSON.stringify(next)}).dispatchEvent(new MouseEvent('click', { bubbles: true, cancelable: true, detail: 1 }))
        done(null)
      }, ${SECOND_TAP_MS})
    }, 10)
  })`)
  await button.click()
  await second
}

/** @param order with a length to measure and nothing else */
export async function typeAnew({ page }: { page: Page }, manager: Client, order: any, onSite: string, shots: string): Promise<void> {
  await page.goto(`${onSite}#/order/${order.id}`)
  const counted = { taps: 0, keys: 0 }
  for (let turn = 0; turn < MOST_TAPS && !(await page.getByText(/^Step 1 of/).count()); turn += 1) await workOn(page, counted, '')
  // A finger that taps twice answers one step: the second tap falls on a button that has only just come.
  const done = page.getByRole('button', { name: 'Done, next step' })
  await tapTwice(page, done, 'Step 2 of', 'Done, next step')
  await page.waitForTimeout(2 * SETTLED_MS)
  expect(await page.getByText(/^Step 2 of/).count()).toBe(1)
  for (let turn = 0; turn < MOST_TAPS && !(await page.$('#measured')); turn += 1) await workOn(page, counted, '')
  // Said to be impossible, and possible after all.
  await page.getByRole('button', { name: 'Could not do it…' }).click()
  await page.getByRole('button', { name: 'no access' }).click()
  await page.getByRole('button', { name: 'Leave it open' }).click()
  const anew = page.getByRole('button', { name: /^Do it after all: / })
  await anew.waitFor()
  // What comes next is longer than the screen: it is seen from its beginning.
  expect(await page.evaluate<number>('scrollY')).toBe(0)
  await page.screenshot({ path: join(shots, 'phone-left-undone.png'), fullPage: true })
  expect(await wrongWith(page)).toEqual([])
  await anew.click()
  await page.waitForSelector('#measured')
  await page.waitForTimeout(SETTLED_MS)
  const step = page.getByText(/^Step \d+ of/)
  const shown = (await step.textContent()) ?? ''
  const inInches = (await page.getAttribute('#measured', 'inputmode')) === 'text'
  const [wrong, right, said] = inInches ? ['0.05', '0.45', '0.050 in'] : ['1.15', '11.5', '1.15 mm']
  await page.fill('#measured', wrong)
  await page.getByRole('button', { name: 'Keep this value' }).click()
  const back = page.getByRole('button', { name: 'Back to the step before' })
  await page.getByText(shown, { exact: true }).waitFor({ state: 'detached' })
  await page.waitForTimeout(SETTLED_MS)
  await back.click()
  const before = page.getByText(`Kept so far: ${said}. What you say now counts instead.`)
  await before.waitFor()
  expect(await page.inputValue('#measured')).toBe('')
  await page.screenshot({ path: join(shots, 'phone-step-before.png'), fullPage: true })
  expect(await wrongWith(page)).toEqual([])
  // Seen, and left as it is: nothing changes.
  await page.getByRole('button', { name: 'Leave it as it is' }).click()
  await before.waitFor({ state: 'detached' })
  await back.click()
  await page.fill('#measured', right)
  await page.getByRole('button', { name: 'Keep this value' }).click()
  await before.waitFor({ state: 'detached' })
  await page.waitForTimeout(SETTLED_MS)
  const closed = 'section[aria-label="Function check"], #minutes'
  for (let turn = 0; turn < MOST_TAPS && !(await page.$(closed)); turn += 1) await workOn(page, counted, right)
  // Closed, and open again with what was answered.
  await page.click('summary:has-text("Closed by mistake?")')
  await page.screenshot({ path: join(shots, 'phone-closed-by-mistake.png'), fullPage: true })
  expect(await wrongWith(page)).toEqual([])
  await page.getByRole('button', { name: /^Open it again: / }).click()
  await page.getByRole('button', { name: 'This task is done' }).waitFor()
  await page.waitForTimeout(SETTLED_MS)
  await workSheet(page, right)
  const ended = await until('the end on the server', 30, async () => {
    const sheet = await manager.get(`/api/v1/work-orders/${order.id}`)
    return sheet.state === 'done' ? sheet : null
  })
  const given = ended.tasks.flatMap(({ measurements }: any) => measurements).flatMap((one: any) => one.given)
  expect(given.length).toBeGreaterThan(0)
  for (const { valueMm, state } of given) expect([valueMm, state]).toEqual([expect.closeTo(inInches ? 11.43 : 11.5, 9), 'counted'])
}

/** One tap too many answers neither the next machine of a round, nor what is wrong with one that stands still. */
export async function tapTwiceOnWay(
  { page }: { page: Page },
  manager: Client,
  { warehouse, running }: Omit<OnTheWay, 'order'>,
  onSite: string,
): Promise<void> {
  await page.goto(`${onSite}#/round/${warehouse.id}`)
  await page.waitForSelector('main li.part button.main, button:has-text("I have read this")')
  const read = page.getByRole('button', { name: 'I have read this' })
  if (await read.count()) await read.click()
  await page.waitForSelector('main li.part button.main')
  await page.waitForTimeout(SETTLED_MS)
  const labels = await page.$$eval('main li.part button.main', (all) => all.map((one) => one.getAttribute('aria-label') ?? ''))
  const [upper = '', lower = ''] = labels.map((label) => label.replace(/ done$/, ''))
  const done = (label: string): Locator => page.getByRole('button', { name: `${label} done`, exact: true })
  await tapTwice(page, done(upper), `Undo ${upper}`, `${lower} done`)
  await page.waitForTimeout(2 * SETTLED_MS)
  expect([await done(upper).count(), await done(lower).count()]).toEqual([0, 1])
  await page.getByText('All entries are saved.').waitFor()

  await page.goto(`${onSite}#/machine/${running.labelCode}`)
  const jammed = page.getByRole('button', { name: 'jammed', exact: true })
  const stands = page.getByRole('button', { name: 'It stands still: what is wrong?' })
  await stands.waitFor()
  await page.waitForLoadState('networkidle')
  await tapTwice(page, stands, 'jammed', 'jammed')
  await page.waitForTimeout(2 * SETTLED_MS)
  const written = page.getByText(/^Written down/)
  expect([await jammed.count(), await written.count()]).toEqual([1, 0])
  await jammed.click()
  await written.waitFor()
  const { items } = await until('the stoppage', 30, async () => {
    const answer = await manager.get(`/api/v1/stoppages?machineId=${running.id}&open=true`)
    return answer.items.length > 0 ? answer : null
  })
  expect(items.map(({ failureMode, note }: any) => [failureMode, note])).toEqual([['jammed', '']])
}

/** A phone that takes nothing more says so, and leaves what was typed where it was typed. */
export async function whereThePhoneIsFull({ page }: { page: Page }, manager: Client, order: any, onSite: string): Promise<void> {
  await page.goto(`${onSite}#/order/${order.id}`)
  const counted = { taps: 0, keys: 0 }
  for (let turn = 0; turn < MOST_TAPS && !(await page.getByText(/^Step 1 of/).count()); turn += 1) await workOn(page, counted, '')
  await page.getByText(/^Stop for something/).click()
  await page.getByRole('button', { name: 'Found something else…' }).click()
  const [words, field] = ['A cover screw is missing', page.getByLabel('What did you find?')]
  await field.fill(words)
  await page.evaluate(`{
    window.put = IDBObjectStore.prototype.put
    IDBObjectStore.prototype.put = () => { throw new DOMException('full', 'QuotaExceededError') }
  }`)
  const keep = page.getByRole('button', { name: 'Keep the finding' })
  await keep.click()
  await page.getByText(/^This phone is full: what you entered last was NOT kept/).waitFor()
  expect(await field.inputValue()).toBe(words)
  await page.evaluate('void (IDBObjectStore.prototype.put = window.put)')
  await keep.click()
  await field.waitFor({ state: 'detached' })
  await until('the finding on the server', 30, async () => {
    const { entries } = await manager.get(`/api/v1/work-orders/${order.id}`)
    return entries.some(({ kind, content }: any) => kind === 'finding' && content.text === words)
  })
}

/** A packer's counter that did not get through stays in its field, and is there once after the second try. */
export async function counterTypedOnce(
  { context, page }: { context: BrowserContext; page: Page },
  manager: Client,
  desk: string,
): Promise<void> {
  const machines = await manager.all('/api/v1/machines')
  const { id } = machines.find(({ machineType, status }: any) => machineType.counterKind !== 'none' && status === 'in_service')
  await manager.post('/api/v1/labels', { machineIds: [id] })
  const { labelToken } = (await manager.all('/api/v1/on-site-machines')).find((machine: any) => machine.id === id)
  await page.goto(new URL(`L/${labelToken}`, desk).href)
  const [field, send] = [page.getByLabel('The counter shows'), page.getByRole('button', { name: 'Send' })]
  await field.fill('twelve')
  expect(await send.isDisabled()).toBe(true)
  const counted = async (): Promise<any[]> =>
    (await manager.all(`/api/v1/evidence?machineId=${id}`)).filter(({ kind }) => kind === 'counter_reading')
  const next = Math.max(0, ...(await counted()).map(({ amount }) => amount)) + 1
  await field.fill(`${next} `)
  await context.setOffline(true)
  await send.click()
  const notSent = page.getByText(/^That did not arrive/)
  await notSent.waitFor()
  // Said where it is seen, though the field stands far below.
  expect((await notSent.boundingBox())?.y).toBeGreaterThan(0)
  expect(await field.inputValue()).toBe(`${next} `)
  await context.setOffline(false)
  await page.waitForTimeout(SETTLED_MS)
  await send.click()
  await page.getByText(/^Thank you. If it does not fit/).waitFor()
  expect(await field.inputValue()).toBe('')
  expect((await counted()).filter(({ source, amount }) => source === 'packer' && amount === next)).toHaveLength(1)
}
