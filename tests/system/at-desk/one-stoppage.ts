/** One stoppage at the desk, in a real browser: opened from its row, put right, closed, written down; its hours the same wherever they stand. */
import { beforeAll, describe, expect, it } from '@jest/globals'
import { join } from 'node:path'
import type { Page } from 'playwright-core'
import { DESK, type DeskGround, isWide, PHONE, violations } from '../support/desk-ground.js'
import type { Client } from '../support/running.js'

const SHOTS = join(process.cwd(), '.data', 'shots')
const HOUR_MS = 3_600_000
let at: DeskGround
/** Not the clocks of any warehouse. */
const ELSEWHERE = 'Pacific/Auckland'
let manager: Client
/** In service, at a station, never stopped in the last days; one for each test. */
let machines: any[]

/** Whole minutes, so that what is typed is what is kept. */
const BEGUN_MS = Math.floor(Date.now() / 60_000) * 60_000
const ago = (hours: number): string => new Date(BEGUN_MS - hours * HOUR_MS).toISOString()
/** As a field of the page wants it, by the clocks of the zone. */
function wall(instant: string, zone: string): string {
  const form = new Intl.DateTimeFormat('sv-SE', { timeZone: zone, dateStyle: 'short', timeStyle: 'short' })
  return form.format(new Date(instant)).replace(' ', 'T')
}
const zoneOf = async ({ warehouse }: any): Promise<string> => (await manager.get(`/api/v1/warehouses/${warehouse.id}`)).zone
const tell = (machine: any, more: object): Promise<any> => manager.post('/api/v1/stoppages', { machineId: machine.id, ...more })
const press = (page: Page, name: string): Promise<void> => page.getByRole('button', { name, exact: true }).click()
const looksRight = async (page: Page): Promise<void> => {
  expect(await violations(page)).toEqual([])
  expect(await isWide(page)).toBe(false)
}

export const oneStoppage = (ground: () => DeskGround): void =>
  describe('one stoppage', () => {
    beforeAll(async () => {
      at = ground()
      manager = await at.client('manager')
      const recent = await manager.all(`/api/v1/stoppages?from=${ago(24 * 20).slice(0, 10)}`)
      const stopped = new Set(recent.map(({ machine }) => machine.id))
      machines = (await manager.all('/api/v1/machines')).filter(
        ({ id, status, station }) => status === 'in_service' && station !== null && !stopped.has(id),
      )
      expect(machines.length).toBeGreaterThan(5)
    })

    it('is opened from its row, put right, and has one number of hours on every page and in the api', async () => {
      const [machine] = machines
      const zone = await zoneOf(machine)
      // Back after two hours; the closing was forgotten until two days later.
      const told = await tell(machine, { failedAt: ago(96), backInUseAt: ago(48), failureMode: 'jammed' })
      const day = wall(told.failedAt, zone).slice(0, 10)
      const to = wall(new Date().toISOString(), zone).slice(0, 10)
      const rows = `/stoppages?from=${day}&to=${to}&machineId=${machine.id}`
      const page = await at.open(DESK, 'manager', rows, ELSEWHERE)
      await page.getByRole('link', { name: `: stoppage of ${machine.labelCode}` }).click()
      await page.waitForURL(`**/stoppages/${told.id}`)
      await page.getByText('48.0 hours,').waitFor()
      await press(page, 'Put it right…')
      const form = page.getByRole('form', { name: 'Put the stoppage right' })
      await form.getByLabel('Failed', { exact: true }).and(page.locator(':focus')).waitFor()
      await form.getByLabel('Back in use', { exact: true }).fill(wall(ago(94), zone))
      await form.getByLabel('Work begun', { exact: true }).fill(wall(ago(95.5), zone))
      await form.getByLabel('Cause', { exact: true }).selectOption('foreign_body')
      await press(page, 'Add a wait')
      await form.getByLabel('Wait 1: from', { exact: true }).fill(wall(ago(95.25), zone))
      await form.getByLabel('Wait 1: to', { exact: true }).fill(wall(ago(94.5), zone))
      await looksRight(page)
      await page.screenshot({ path: join(SHOTS, 'desk-stoppage-form.png'), fullPage: true })
      await press(page, 'Write it down')
      await page.getByRole('status').filter({ hasText: 'stood still for 2.0 hours; before this change it was 48.0.' }).waitFor()
      await looksRight(page)
      await page.screenshot({ path: join(SHOTS, 'desk-stoppage.png'), fullPage: true })

      const kept = await manager.get(`/api/v1/stoppages/${told.id}`)
      expect(kept).toMatchObject({ cause: 'foreign_body', failureMode: 'jammed', failedAt: told.failedAt, backInUseAt: ago(94) })
      expect(kept.durations).toMatchObject({ totalHours: 2, administrativeHours: 0.5, logisticHours: 0.75, activeHours: 0.75 })
      const review = await manager.get(`/api/v1/review?from=${day}&to=${to}`)
      const reviewed = review.machines.find(({ machineId }: any) => machineId === machine.id)
      expect([kept.durations.totalHours.toFixed(1), reviewed.hoursStopped.toFixed(1)]).toEqual(['2.0', '2.0'])
      expect(await page.locator('section[aria-labelledby=hours]').innerText()).toMatch(
        /2\.0 hours, .*deciding\s+0\.5 h\s+waiting for parts\s+0\.8 h/s,
      )
      await page.getByRole('link', { name: machine.labelCode, exact: true }).click()
      const troubles = page.locator('section[aria-labelledby=troubles] li', { hasText: 'cause foreign body' })
      expect(await troubles.innerText()).toContain('2.0 hours')
      await at.to(page, rows)
      const row = page.locator('tr', { has: page.locator(`a[href="/stoppages/${told.id}"]`) })
      expect(await row.locator('td.figure').innerText()).toBe('2.0')
      await page.getByRole('link', { name: `2.0 hours of ${machine.labelCode}: its stoppages` }).waitFor()
      await looksRight(page)
      await page.context().close()
    }, 120_000)

    it('refuses a wrong order in words at its field, keeps what was typed, and says who changed what', async () => {
      const machine = machines[1]
      const zone = await zoneOf(machine)
      const told = await tell(machine, { failedAt: ago(30), backInUseAt: ago(28), noticedAt: null })
      const page = await at.open(DESK, 'manager', `/stoppages/${told.id}`, ELSEWHERE)
      await page.getByText('not known; taken as noticed when it failed').first().waitFor()
      await press(page, 'Put it right…')
      const form = page.getByRole('form', { name: 'Put the stoppage right' })
      await form.getByLabel('Repaired', { exact: true }).fill(wall(ago(27), zone))
      await form.getByLabel('Note', { exact: true }).fill('a strip of liner in the feed')
      await form.getByLabel('Who told it', { exact: true }).fill('Bo of the late shift')
      await press(page, 'Write it down')
      const fault = form.locator('.field', { has: page.getByLabel('Back in use', { exact: true }) }).getByRole('alert')
      await form
        .locator('.field', { has: page.getByLabel('Repaired', { exact: true }) })
        .getByText('This lies after it was back in use,')
        .waitFor()
      expect(await fault.count()).toBe(0)
      expect(await form.getByRole('alert').first().innerText()).toContain('Repaired: This lies after it was back in use,')
      expect(await form.getByLabel('Note', { exact: true }).inputValue()).toBe('a strip of liner in the feed')
      await looksRight(page)

      // Meanwhile a colleague changes the same one.
      await manager.must('PATCH', `/api/v1/stoppages/${told.id}`, { cause: 'wear' })
      await form.getByLabel('Repaired', { exact: true }).fill(wall(ago(28), zone))
      await press(page, 'Write it down')
      await form.getByText('Cause: from not known to wear').waitFor()
      await looksRight(page)
      await press(page, 'Write mine down beside it')
      await page.getByRole('status').filter({ hasText: 'Written down.' }).waitFor()
      expect(await manager.get(`/api/v1/stoppages/${told.id}`)).toMatchObject({
        cause: 'wear',
        note: 'a strip of liner in the feed',
        reportedBy: 'Bo of the late shift',
        repairedAt: ago(28),
        noticedAt: null,
      })
      await page.locator('summary', { hasText: 'Who changed it, and when' }).click()
      await page.getByText('Note: from nothing to ‘a strip of liner in the feed’').waitFor()
      await looksRight(page)
      await page.context().close()
    }, 120_000)

    it('is closed from the machine’s page, and from its own by a technician', async () => {
      const me: any = await (await at.client('technician')).get('/api/v1/me')
      const serves = new Set(me.warehouses.map(({ id }: any) => id))
      const [first, second] = machines.slice(2).filter(({ warehouse }) => serves.has(warehouse.id))
      const zone = await zoneOf(first)
      const told = await tell(first, { failedAt: ago(5), reportedAt: ago(5) })
      const page = await at.open(DESK, 'manager', `/machines/${first.id}`, ELSEWHERE)
      await press(page, 'It works again…')
      const form = page.getByRole('form', { name: `${first.labelCode} works again` })
      await form.getByLabel('Back in use since', { exact: true }).fill(wall(ago(6), zone))
      await press(page, 'It works again')
      await form.getByText('Back in use since: This lies before it').waitFor()
      await form.getByLabel('Back in use since', { exact: true }).fill(wall(ago(2), zone))
      await form.getByLabel('Cause', { exact: true }).selectOption('damp_tape')
      await form.getByLabel('Note', { exact: true }).fill('new roll')
      await looksRight(page)
      await press(page, 'It works again')
      await page.getByRole('status').filter({ hasText: 'it works again' }).getByRole('link').click()
      await page.getByText('3.0 hours,').waitFor()
      expect(await manager.get(`/api/v1/stoppages/${told.id}`)).toMatchObject({
        open: false,
        cause: 'damp_tape',
        note: 'new roll',
        backInUseAt: ago(2),
      })
      await page.context().close()

      // Failed this very minute: the time that the field shows lies in it, and is not before it.
      const other = await tell(second, {})
      const his = await at.open(DESK, 'technician', `/stoppages/${other.id}`, ELSEWHERE)
      await press(his, 'It works again…')
      await press(his, 'It works again')
      await his.getByRole('status').filter({ hasText: 'Written down.' }).waitFor()
      expect((await manager.get(`/api/v1/stoppages/${other.id}`)).open).toBe(false)
      expect(await his.locator('summary', { hasText: 'Who changed it' }).count()).toBe(0)
      await looksRight(his)
      await his.context().close()
    }, 120_000)

    it('is written down at phone size as it was told; a second one joins the first, in words', async () => {
      const machine = machines.at(-1)
      const zone = await zoneOf(machine)
      const page = await at.open(PHONE, 'manager', `/machines/${machine.id}`, ELSEWHERE)
      await press(page, 'It stood still, and is over…')
      const over = page.getByRole('form', { name: `${machine.labelCode} stood still` })
      await over.getByLabel('Since when', { exact: true }).fill(wall(ago(50), zone))
      await over.getByLabel('Back in use', { exact: true }).fill(wall(ago(49), zone))
      await over.getByLabel('What was wrong', { exact: true }).selectOption('no_feed')
      await over.getByLabel('Who told it', { exact: true }).fill('Ada, by telephone')
      await looksRight(page)
      await page.screenshot({ path: join(SHOTS, 'phone-stoppage-told.png'), fullPage: true })
      await press(page, 'Write the stoppage down')
      await page.getByRole('status').filter({ hasText: 'Written down: the stoppage since' }).filter({ hasText: '1.0 hours.' }).waitFor()

      await press(page, 'It stands still…')
      const now = page.getByRole('form', { name: `${machine.labelCode} stands still` })
      await now.getByLabel('Note', { exact: true }).fill('does not feed')
      // A packer was faster.
      const first = await tell(machine, { failedAt: ago(1), failureMode: 'jammed' })
      await press(page, 'Write the stoppage down')
      const said = page.getByRole('status').filter({ hasText: 'It stood still already, since' })
      await said.getByRole('link', { name: 'that stoppage' }).click()
      await page.waitForURL(`**/stoppages/${first.id}`)
      await page.getByText('does not feed').waitFor()
      await page.getByText('hours so far,').waitFor()
      for (const colorScheme of ['light', 'dark'] as const) {
        await page.emulateMedia({ colorScheme })
        await looksRight(page)
      }
      await page.screenshot({ path: join(SHOTS, 'phone-stoppage.png'), fullPage: true })
      await page.setViewportSize({ width: 320, height: 640 })
      expect(await isWide(page)).toBe(false)
      await press(page, 'Put it right…')
      expect(await isWide(page)).toBe(false)
      const { items } = await manager.get(`/api/v1/stoppages?machineId=${machine.id}&from=${ago(72).slice(0, 10)}`)
      expect(items).toMatchObject([
        { id: first.id, open: true },
        { open: false, reportedBy: 'Ada, by telephone', failureMode: 'no_feed' },
      ])
      await page.context().close()
    }, 120_000)

    it('that is not there says so, and throws nothing', async () => {
      const page = await at.open(PHONE, 'manager', '/stoppages/00000000-0000-7000-8000-000000000000', ELSEWHERE)
      await page.getByRole('alert').filter({ hasText: 'There is no such stoppage.' }).waitFor()
      await looksRight(page)
      await page.context().close()
    }, 60_000)
  })
