/** A technician's whole day without a network, in a browser at phone size: sheets, rounds, stoppages, a reload and a killed tab in the middle. */
import type { BrowserContext, Page } from 'playwright-core'
import type { Client } from './running.js'
import { SETTLED_MS, tapNew, workOn, workSheet } from './phone-sheet.js'

export interface DaysWork {
  orderIds: string[]
  warehouseIds: string[]
  stoppedLabels: string[]
  /** Open on the month's rounds: as many as this day of the month has left. */
  lines: number
}
/** What stood in the phone's storage before the network came back. */
interface KeptEntry {
  id: string
  kind: string
  workOrderId?: string
  path?: string
  body: { id?: string; machineId?: string; outcome?: string; entryId?: string }
}

const SHEETS = 20

/** The technician serves every warehouse from now on. */
export async function serveAll(manager: Client, technicianId: string): Promise<string[]> {
  const warehouses: { id: string }[] = (await manager.get('/api/v1/warehouses')).items
  for (const { id } of warehouses) {
    const { people } = await manager.get(`/api/v1/warehouses/${id}`)
    const personIds = [...new Set<string>([...people.map((person: { id: string }) => person.id), technicianId])]
    await manager.must('PUT', `/api/v1/warehouses/${id}/people`, { personIds })
  }
  return warehouses.map(({ id }) => id)
}

/** What a day takes is on every shelf: what falls due, and so which part in which hall, changes from day to day. */
async function fillShelves(manager: Client): Promise<void> {
  for (const { id, stock } of await manager.all('/api/v1/parts'))
    for (const { warehouseId, onHand, leadTimeDays } of stock)
      if (onHand < SHEETS) await manager.must('PUT', `/api/v1/parts/${id}/stock/${warehouseId}`, { onHand: SHEETS, leadTimeDays })
}

/** Enough for a day: so many short orders are issued to the technician, and three machines will stand still. */
export async function giveWork(manager: Client, technicianId: string): Promise<DaysWork> {
  const warehouseIds = await serveAll(manager, technicianId)
  await fillShelves(manager)
  const open = [...(await manager.all('/api/v1/work-orders?state=drafted')), ...(await manager.all('/api/v1/work-orders?state=issued'))]
  const fitting = open.filter(({ skill, technician }) => skill !== 'electrical' && (technician === null || technician.id === technicianId))
  const byMinutes = fitting.sort((a, b) => a.minutesPlanned - b.minutesPlanned)
  // Two that take a part out of stock, where that many are drafted.
  const replacing = byMinutes.filter(({ taskNames }) => taskNames.includes('Replace both motor brushes as a set')).slice(0, 2)
  const short = [...replacing, ...byMinutes.filter((one) => !replacing.includes(one))].slice(0, SHEETS)
  for (const { id, state } of short) if (state === 'drafted') await manager.post(`/api/v1/work-orders/${id}/issue`, { technicianId })
  const machines = (await manager.all('/api/v1/machines')).filter(({ status }) => status === 'in_service')
  const stopped = new Set((await manager.all('/api/v1/stoppages?open=true')).map(({ machine }) => machine.labelCode))
  const busy = new Set(open.map(({ machine }) => machine.labelCode))
  const idle = machines.map(({ labelCode }) => labelCode).filter((label) => !busy.has(label) && !stopped.has(label))
  const rounds = await Promise.all(warehouseIds.map((id) => manager.get(`/api/v1/rounds?warehouseId=${id}`)))
  const lines = rounds.flatMap((round) => round.lines).filter(({ answer }) => !answer).length
  return { orderIds: short.map(({ id }) => id), warehouseIds, stoppedLabels: idle.slice(0, 3), lines }
}

const entriesOn = (page: Page): Promise<KeptEntry[]> =>
  page.evaluate(`new Promise((done, fail) => {
    const opening = indexedDB.open('tapewarden-hand')
    opening.onerror = () => fail(opening.error)
    opening.onsuccess = () => {
      const reading = opening.result.transaction('entries').objectStore('entries').getAll()
      reading.onsuccess = () => { opening.result.close(); done(reading.result) }
    }
  })`)

/** One round, every line answered: most done, one with a reason. @returns how many lines */
async function walk(page: Page, address: string, warehouseId: string): Promise<number> {
  await page.goto(`${address}#/round/${warehouseId}`)
  await page.waitForSelector('h1:has-text("Round")')
  if (await page.$('button:has-text("I have read this")')) await page.click('button:has-text("I have read this")')
  await page.waitForSelector('main li.part')
  await page.waitForTimeout(SETTLED_MS)
  const labels = await page.$$eval('main li.part button.main', (all) => all.map((one) => one.getAttribute('aria-label') ?? ''))
  for (const label of labels) {
    await page.click(`button[aria-label="${label}"]`)
    await page.waitForSelector(`button[aria-label="${label}"]`, { state: 'detached' })
    await page.waitForTimeout(SETTLED_MS)
  }
  return labels.length
}

async function reportStopped(page: Page, address: string, label: string): Promise<void> {
  await page.goto(`${address}#/machine/${label}`)
  await page.click('button:has-text("It stands still")')
  await tapNew(page, 'button:has-text("jammed")')
  await page.waitForSelector('text=/Written down/')
}

export interface Day {
  kept: KeptEntry[]
  lines: number
  finished: number
}

/** @param reopen the tab is killed and another opened in the same browser */
export async function workTheDay(
  context: BrowserContext,
  first: Page,
  address: string,
  work: DaysWork,
  reopen: () => Promise<Page>,
): Promise<Day> {
  let page = first
  await context.setOffline(true)
  let finished = 0
  for (const [index, id] of work.orderIds.entries()) {
    await page.goto(`${address}#/order/${id}`)
    await page.waitForSelector('h1:has-text("order")')
    if (index === 6) {
      for (let tap = 0; tap < 4; tap += 1) await workOn(page, { taps: 0, keys: 0 }, '11.5')
      await page.reload()
      await page.waitForSelector('h1:has-text("order")')
    }
    if (index === 12) {
      for (let tap = 0; tap < 4; tap += 1) await workOn(page, { taps: 0, keys: 0 }, '11.5')
      page = await reopen()
      await page.goto(`${address}#/order/${id}`)
      await page.waitForSelector('h1:has-text("order")')
    }
    await workSheet(page)
    finished += 1
  }
  let lines = 0
  for (const id of work.warehouseIds) lines += await walk(page, address, id)
  for (const label of work.stoppedLabels) await reportStopped(page, address, label)
  return { kept: await entriesOn(page), lines, finished }
}
