/** The on-site pages in a real browser: part of browser.test.ts, on its server. */
import { expect, it } from '@jest/globals'
import { join } from 'node:path'
import type { Page } from 'playwright-core'
import { filmOf } from './fake-camera.js'
import { giveWork, serveAll, workTheDay } from './phone-day.js'
import { type Ground, issued, phone, PHONE, technicianOf, who } from './phone-ground.js'
import { byKeyboardOn, press } from './phone-keyboard.js'
import { counterTypedOnce, takeAndPutBack, tapTwice, tapTwiceOnWay, typeAnew, whereThePhoneIsFull } from './phone-mistakes.js'
import { type OnTheWay, reloadWithoutNetwork } from './phone-reload.js'
import { tapNew, workSheet } from './phone-sheet.js'
import { sharedTablet } from './phone-tablet.js'
import { type Client, until } from './running.js'
import { wrongWith } from './states.js'
import { resetTaps, tappingSeconds, tapsOf, watchTaps } from './taps.js'

export function onSiteTests(get: () => Ground): void {
  it('asks a shared tablet’s people for their code before each sheet, and keeps their names apart', () => sharedTablet(get()), 120_000)
  it('takes few taps: scan and oiled, a brush inspection, a packer’s report', () => fewTaps(get()), 120_000)
  it('goes by the server’s clock on a phone whose own is two days off, also without a network', () => wrongClock(get()), 120_000)
  it('names what the server did not take in, and sends it again when asked to', () => notTakenIn(get()), 120_000)
  it(
    'asks which part went in, and lets one that was taken by mistake go back, also without a network',
    () => putRight(get(), 'Replace both motor brushes as a set', takeAndPutBack),
    120_000,
  )
  it('goes back to the step before, where a value was mistyped', () => putRight(get(), 'Measure both motor brushes', typeAnew), 120_000)
  it(
    'leaves what was typed in its field where the phone is full',
    () => putRight(get(), 'Measure both motor brushes', whereThePhoneIsFull),
    120_000,
  )
  it('takes no second tap of one finger for the next machine of a round, nor for what is wrong with one', () => twiceOnWay(get()), 120_000)
  it('asks for nothing again that was said before a reload without a network', () => reloaded(get()), 120_000)
  it('works a sheet by the keyboard alone', () => byKeyboard(get()), 120_000)
  it(
    'says what may be lost after the phone’s storage was cleared, and goes on through an update in the middle of a sheet',
    () => clearedAndUpdated(get()),
    120_000,
  )
  it('keeps a whole day without a network, and the server has all of it once', () => wholeDay(get()), 900_000)
}

async function fewTaps(ground: Ground): Promise<void> {
  const { system, manager, film } = ground
  await serveAll(manager, (await technicianOf(ground)).id)
  const { client, warehouseIds } = await technicianOf(ground)
  const rounds = await Promise.all(warehouseIds.map((id) => client.get(`/api/v1/rounds?warehouseId=${id}`)))
  const line = rounds.flatMap(({ lines }) => lines).find(({ mayDo, answer }) => mayDo && !answer)
  await manager.post('/api/v1/labels', { machineIds: [line.machineId] })
  const { labelToken } = (await client.all('/api/v1/on-site-machines')).find(({ id }) => id === line.machineId)
  filmOf(`https://tape.example/L/${labelToken}`, film)
  const brushes = await issued(ground, { only: 'Measure both motor brushes' })

  const { context, page } = await phone(ground)
  await resetTaps(page)
  await page.click('button:has-text("Scan a label")')
  await page.waitForSelector(`h1:has-text("${line.labelCode}")`)
  if (await page.waitForSelector('button:has-text("I have read this")', { timeout: 5000 }).catch(() => null))
    await tapNew(page, 'button:has-text("I have read this")')
  await tapNew(page, `button[aria-label="${line.labelCode} done"]`)
  await page.waitForSelector('section[aria-label="Care asked for this month"] >> text=/Done/')
  const oiled = await tapsOf(page)
  expect([oiled.taps <= 4, oiled.keys]).toEqual([true, 0])

  await page.goto(`${system.urls.onSite}#/order/${brushes.id}`)
  await page.waitForSelector('button:has-text("Accept")')
  await resetTaps(page)
  await workSheet(page)
  const inspected = await tapsOf(page)
  const seconds = tappingSeconds(inspected)
  process.stderr.write(`brush inspection: ${inspected.taps} taps, ${inspected.keys} keys, ${seconds.toFixed(1)} s of tapping\n`)
  expect(seconds).toBeLessThanOrEqual(60)
  await context.close()

  const packer = await ground.open(PHONE)
  await watchTaps(packer.page)
  await packer.page.goto(new URL(`L/${labelToken}`, system.urls.desk).href)
  // With a finger that taps twice: what comes to stand there is 'It works again'.
  await tapTwice(packer.page, packer.page.locator('button:has-text("Jammed")'), 'Works again', 'Works again')
  await packer.page.waitForSelector('text=/that is reported/')
  await packer.page.waitForTimeout(1000)
  const { items } = await manager.get(`/api/v1/stoppages?machineId=${line.machineId}&open=true`)
  expect(items.map(({ failureMode, note }: any) => [failureMode, note])).toEqual([['jammed', expect.not.stringContaining('again')]])
  expect((await tapsOf(packer.page)).taps).toBeLessThanOrEqual(3)
  await counterTypedOnce(packer, manager, system.urls.desk)
  await packer.context.close()
}

/** Longer than the test is without its network. */
const RECENT_MS = 90_000

async function wrongClock(ground: Ground): Promise<void> {
  const { system, manager } = ground
  const order = await issued(ground, { tasks: 1 })
  const { context, page } = await ground.open(PHONE)
  await context.addInitScript(`{
    const Right = Date, AHEAD_MS = 2 * 86400000
    globalThis.Date = class extends Right {
      constructor(...given) { given.length === 0 ? super(Right.now() + AHEAD_MS) : super(...given) }
      static now() { return Right.now() + AHEAD_MS }
    }
  }`)
  await ground.signIn(page, system.urls.onSite, 'technician')
  // Two days, on another day than today's (AHEAD) so many more or fewer.
  const off = 'text=/This phone’s clock is \\d+ (days|hours) (ahead|behind)/'
  await page.waitForSelector(off)
  await until('the service worker', 20, () => page.evaluate<boolean>('navigator.serviceWorker.controller !== null'))
  await page.goto(`${system.urls.onSite}#/order/${order.id}`)
  await page.click('button:has-text("Accept")')
  await page.waitForSelector('text=/All entries are saved/')
  expect(await wrongWith(page)).toEqual([])
  await context.setOffline(true)
  await page.reload()
  await page.waitForSelector(off)
  await workSheet(page)
  await context.setOffline(false)
  await page.evaluate("dispatchEvent(new Event('online')) && null")
  const sheet = await until('the finished order', 30, async () => {
    const asked = await manager.get(`/api/v1/work-orders/${order.id}`)
    return asked.state === 'done' && asked
  })
  const wrong = sheet.entries.filter(({ madeAt, receivedAt }: any) => Math.abs(Date.parse(madeAt) - Date.parse(receivedAt)) > RECENT_MS)
  expect([wrong, sheet.entries.length > 3]).toEqual([[], true])
  expect(sheet.minutesWorked).toBeLessThan(5)
  await context.close()
}

async function notTakenIn(ground: Ground): Promise<void> {
  const { system, manager } = ground
  const order = await issued(ground, { tasks: 1 })
  const { context, page } = await phone(ground)
  await page.goto(`${system.urls.onSite}#/order/${order.id}`)
  // Stands in for whatever the office may have done meanwhile.
  const refuse = { status: 422, contentType: 'application/problem+json', body: JSON.stringify({ detail: 'This order is with Bo now.' }) }
  await page.route('**/entries', (route) => route.fulfill(refuse))
  await page.click('button:has-text("Accept")')
  const panel = page.locator('section[aria-label="Not taken in"]')
  await panel.getByText(`${order.machine.labelCode}, order ${order.number}: accepted`).waitFor()
  await panel.getByText('This order is with Bo now.').waitFor()
  await page.getByText('Nothing waits to be sent; 1 was not taken in, see below.').waitFor()
  expect(await wrongWith(page)).toEqual([])
  await page.screenshot({ path: join(ground.shots, 'phone-not-taken-in.png') })
  const answered = page.waitForResponse('**/entries')
  await panel.getByRole('button', { name: 'Send it again' }).click()
  await answered
  await panel.getByText('This order is with Bo now.').waitFor()
  await page.unroute('**/entries')
  await panel.getByRole('button', { name: 'Send it again' }).click()
  await panel.waitFor({ state: 'detached' })
  await page.waitForSelector('text=/All entries are saved/')
  expect(await manager.get(`/api/v1/work-orders/${order.id}`)).toMatchObject({ state: 'accepted' })
  // The server is away, then the sign-in has ended: the page says which, and goes on after signing in.
  await page.route('**/entries', (route) => route.abort())
  await tapNew(page, 'button:has-text("I have read this")')
  await page.getByText('1 entry is only on this phone; not sent yet, tried again every 20 seconds.').waitFor()
  await page.unroute('**/entries')
  await context.clearCookies()
  await tapNew(page, 'button:has-text("Begin the work")')
  await page.getByText('2 entries are only on this phone. Your sign-in has ended: sign in again, then they are sent.').waitFor()
  expect(await wrongWith(page)).toEqual([])
  await page.getByRole('button', { name: 'Sign in' }).click()
  await page.getByText('2 entries').first().waitFor()
  await page.fill('input[type=email]', who(ground, 'technician').email)
  await page.fill('input[type=password]', who(ground, 'technician').password)
  await page.click('button:has-text("Sign in")')
  await page.waitForSelector('text=/All entries are saved/')
  expect(await manager.get(`/api/v1/work-orders/${order.id}`)).toMatchObject({ state: 'under_way' })
  await context.close()
}

async function byKeyboard(ground: Ground): Promise<void> {
  const { system, manager } = ground
  const order = await issued(ground, { tasks: 1 })
  const { context, page } = await ground.open(PHONE)
  await page.goto(system.urls.onSite)
  await page.waitForSelector('input[type=email]')
  await page.keyboard.press('Tab')
  await page.keyboard.type(who(ground, 'technician').email)
  await page.keyboard.press('Tab')
  await page.keyboard.type(who(ground, 'technician').password)
  await press(page, /Sign in/)
  await page.waitForSelector('h2:has-text("Your orders")')
  await press(page, /type its code/, 'End')
  await page.keyboard.type(order.machine.labelCode)
  await page.keyboard.press('Enter')
  await page.waitForSelector(`h1:has-text("${order.machine.labelCode}")`)
  await page.waitForSelector(`a[href="#/order/${order.id}"]`)
  await press(page, new RegExp(`Order ${order.number}`))
  await page.waitForSelector('button:has-text("Accept")')
  await press(page, /^ *Accept/)
  await page.waitForSelector('text=/^I have read this/')
  await press(page, /I have read this/)
  await page.waitForSelector('button:has-text("Begin the work")')
  await press(page, /Begin the work/)
  await page.waitForSelector('text=Step 1 of')
  for (let turn = 0; turn < 60 && !(await page.$('#minutes')); turn += 1) await byKeyboardOn(page)
  await press(page, /Finish and hand back/)
  await page.waitForSelector('text=/Finished/')
  await until('the finished order', 30, async () => (await manager.get(`/api/v1/work-orders/${order.id}`)).state === 'done')
  await context.close()
}

async function clearedAndUpdated(ground: Ground): Promise<void> {
  const { manager, system } = ground
  const order = await issued(ground)
  const { context, page } = await phone(ground)
  await page.goto(`${system.urls.onSite}#/order/${order.id}`)
  await page.click('button:has-text("Accept")')
  await page.waitForSelector('text=/All entries are saved/')
  await until('the service worker', 20, () => page.evaluate<boolean>('navigator.serviceWorker.controller !== null'))
  // The server takes no entry, but hears what is kept.
  await page.route('**/entries', (route) => route.abort())
  const said = page.waitForResponse(
    (answer) => answer.url().endsWith('/phone-words') && JSON.parse(answer.request().postData() ?? '{}').kept.length === 2,
    { timeout: 30_000 },
  )
  await tapNew(page, 'button:has-text("I have read this")')
  await tapNew(page, 'button:has-text("Begin the work")')
  await page.waitForSelector('text=/2 entries are only on this phone/')

  // A new worker takes over while the sheet is open; the sheet goes on, and nothing that was kept is gone.
  const before = await page.evaluate<string>('navigator.serviceWorker.controller.scriptURL')
  await page.evaluate("navigator.serviceWorker.register('/hand-worker.js?newer').then(() => null)")
  await until('the newer worker', 20, () =>
    page.evaluate<boolean>(`navigator.serviceWorker.controller.scriptURL !== ${JSON.stringify(before)}`),
  )
  await page.waitForSelector('.step')
  expect(await page.textContent('.kept')).toContain('2 entries are only on this phone')
  await said
  await page.goto('about:blank')
  const other = await context.newPage()
  await other.goto(new URL('icon.svg', system.urls.desk).href)
  await other.evaluate(`new Promise((done, fail) => {
    const asked = indexedDB.deleteDatabase('tapewarden-hand')
    asked.onsuccess = () => done(null)
    asked.onerror = () => fail(asked.error)
  })`)
  await other.goto(system.urls.onSite)
  await other.waitForSelector('text=/The storage of this phone was cleared/', { timeout: 30_000 })
  const told = (await other.textContent('section[aria-label^="What may be lost"]')) ?? ''
  expect(told).toContain('2 entries had been kept here')
  expect(told).toContain(`${order.machine.labelCode}, order ${order.number}: work begun`)
  expect(told).toContain('cannot be known')
  expect(await wrongWith(other)).toEqual([])
  // One word for each storage that was cleared; phones of the tests before may be among them.
  const lost = 'section[aria-label^="What may be lost"]'
  for (let left = await other.locator(lost).count(); left > 0; left -= 1) {
    await other.click(`${lost} button:has-text("They are lost")`)
    await until('one less', 20, async () => (await other.locator(lost).count()) < left)
  }
  expect((await manager.get(`/api/v1/work-orders/${order.id}`)).state).toBe('accepted')
  await context.close()
}

async function putRight(ground: Ground, only: string, work: typeof takeAndPutBack): Promise<void> {
  const { manager, system, shots } = ground
  const order = await issued(ground, { only })
  const sheet = await manager.get(`/api/v1/work-orders/${order.id}`)
  const opened = await phone(ground)
  await work(opened, manager, sheet, system.urls.onSite, shots)
  await opened.context.close()
}

/** A round with two machines to do, and a machine that runs. */
async function onTheWay({ manager }: Ground, client: Client, warehouseIds: readonly string[]): Promise<Omit<OnTheWay, 'order'>> {
  const rounds = await Promise.all(warehouseIds.map((id) => client.get(`/api/v1/rounds?warehouseId=${id}`)))
  const { warehouse } = rounds.find(({ lines }) => lines.filter(({ mayDo, answer }: any) => mayDo && !answer).length > 1)
  const stopped = new Set((await manager.all('/api/v1/stoppages?open=true')).map(({ machine }) => machine.id))
  const running = (await client.all('/api/v1/on-site-machines')).find(({ id, status }) => status === 'in_service' && !stopped.has(id))
  return { warehouse, running }
}

async function twiceOnWay(ground: Ground): Promise<void> {
  const { client, warehouseIds } = await technicianOf(ground)
  const where = await onTheWay(ground, client, warehouseIds)
  const opened = await phone(ground)
  await tapTwiceOnWay(opened, ground.manager, where, ground.system.urls.onSite)
  await opened.context.close()
}

async function reloaded(ground: Ground): Promise<void> {
  const { client, warehouseIds } = await technicianOf(ground)
  const order = await issued(ground, { tasks: 1 })
  const where = await onTheWay(ground, client, warehouseIds)
  const opened = await phone(ground)
  await reloadWithoutNetwork(opened, ground.manager, { ...where, order }, ground.system.urls.onSite)
  await opened.context.close()
}

async function wholeDay(ground: Ground): Promise<void> {
  const { manager, system } = ground
  const technician = await technicianOf(ground)
  const work = await giveWork(manager, technician.id)
  const { context, page } = await phone(ground)
  // Everything is brought along before the signal goes.
  await until('the day’s sheets on the phone', 60, async () =>
    page.evaluate<boolean>(`new Promise((done) => {
      const opening = indexedDB.open('tapewarden-hand')
      opening.onsuccess = () => {
        const reading = opening.result.transaction('pages').objectStore('pages').getAllKeys()
        reading.onsuccess = () => { opening.result.close(); done(${JSON.stringify(work.orderIds)}.every((id) => reading.result.includes('/api/v1/work-orders/' + id)) && ${JSON.stringify(work.warehouseIds)}.every((id) => reading.result.includes('/api/v1/rounds?warehouseId=' + id))) }
      }
    })`),
  )
  await until('the service worker', 20, () => page.evaluate<boolean>('navigator.serviceWorker.controller !== null'))
  const reopen = async (): Promise<Page> => {
    const next = await context.newPage()
    await Promise.all(
      context
        .pages()
        .filter((one) => one !== next)
        .map((one) => one.close({ runBeforeUnload: false })),
    )
    return next
  }
  const day = await workTheDay(context, page, system.urls.onSite, work, reopen)
  expect([day.finished, work.stoppedLabels.length]).toEqual([20, 3])
  expect([day.lines, day.lines >= 30]).toEqual([work.lines, true])
  const [last] = context.pages()
  await context.setOffline(false)
  await last?.evaluate("dispatchEvent(new Event('online')) && null")
  await last?.waitForSelector('text=/All entries are saved|not taken in/', { timeout: 120_000 })
  expect(await last?.locator('.kept, section[aria-label="Not taken in"]').allTextContents()).toEqual([
    expect.stringContaining('All entries are saved.'),
  ])

  const ids: string[] = []
  for (const id of work.orderIds) {
    const sheet = await manager.get(`/api/v1/work-orders/${id}`)
    const fails = sheet.entries
      .filter(({ outcome }: any) => outcome !== 'applied')
      .map(({ kind, outcomeReason }: any) => `${kind}: ${outcomeReason}`)
    expect([sheet.number, sheet.state, fails]).toEqual([sheet.number, 'done', []])
    ids.push(...sheet.entries.map((entry: any) => entry.id))
  }
  const kept = day.kept.filter(({ kind }) => kind === 'work').map(({ body }) => body.id ?? '')
  expect(new Set(kept).size).toBe(kept.length)
  expect([...ids].sort()).toEqual([...kept].sort())
  let answered = 0
  for (const id of work.warehouseIds) {
    const { lines } = await technician.client.get(`/api/v1/rounds?warehouseId=${id}`)
    const own = new Set(day.kept.filter(({ kind }) => kind === 'round').map(({ body }) => body.entryId))
    answered += lines.filter(({ answer }: any) => answer && own.has(answer.entryId)).length
  }
  expect(answered).toBe(day.lines)
  for (const label of work.stoppedLabels) {
    const machine = (await manager.all('/api/v1/machines?search=' + label)).find(({ labelCode }) => labelCode === label)
    const { items } = await manager.get(`/api/v1/stoppages?machineId=${machine.id}`)
    expect([label, items.filter(({ open }: any) => open).length]).toEqual([label, 1])
  }
  await context.close()
}
