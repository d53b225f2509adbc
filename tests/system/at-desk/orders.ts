/** What the manager reads of an order at the desk and decides about it: entries, another technician, a task struck out, a date left out. */
import { beforeAll, describe, expect, it } from '@jest/globals'
import { randomUUID } from 'node:crypto'
import type { Page } from 'playwright-core'
import { DESK, type DeskGround, PHONE, shoot, wrongHere } from '../support/desk-ground.js'
import { type Client, workThrough } from '../support/running.js'
import { issuedTo, type Wanted } from '../support/work-at-hand.js'

let desk: DeskGround
let manager: Client
let technician: Client
let me: any
const to = (page: Page, path: string) => desk.to(page, path)
const sheetOf = (order: { id: string }) => manager.get(`/api/v1/work-orders/${order.id}`)
const at = () => new Date().toISOString()
const enter = (order: { id: string }, entry: object) =>
  technician.post(`/api/v1/work-orders/${order.id}/entries`, { id: randomUUID(), madeAt: at(), ...entry })

const issued = (wanted?: Wanted): Promise<any> =>
  issuedTo(manager, { id: me.person.id, warehouseIds: me.warehouses.map(({ id }: any) => id) }, wanted)

const SIZES = [
  ['desk', DESK],
  ['phone', PHONE],
] as const

export const orders = (ground: () => DeskGround): void =>
  describe('orders', () => {
    beforeAll(async () => {
      desk = ground()
      manager = await desk.client('manager')
      technician = await desk.client('technician')
      me = await technician.get('/api/v1/me')
    })

    it('says what another changed of a visit meanwhile, and keeps what each of the two changed', async () => {
      const [hall] = (await manager.get('/api/v1/warehouses')).items
      const visit = await manager.post('/api/v1/visits', { warehouseId: hall.id, visitOn: '2031-05-06', workOrderIds: [] })
      const page = await desk.open(DESK, 'manager', `/visits/${visit.id}`)
      await page.getByLabel('Note for the technician').fill('Bring the long ladder')
      await manager.must('PATCH', `/api/v1/visits/${visit.id}`, { visitOn: '2031-05-07' })
      await page.getByRole('button', { name: 'Save the visit' }).click()
      await page.getByText('The day is now 7 May 2031.').waitFor()
      expect(await page.getByLabel('Note for the technician').inputValue()).toBe('Bring the long ladder')
      expect(await wrongHere(page)).toEqual([])
      await page.getByRole('button', { name: 'Save the visit' }).click()
      await page.waitForURL(/\/visits\?/)
      expect(await manager.get(`/api/v1/visits/${visit.id}`)).toMatchObject({ visitOn: '2031-05-07', note: 'Bring the long ladder' })
      await page.context().close()
    }, 60_000)

    it('keeps one visit where an order of it cannot be issued, and says which and why', async () => {
      const drafts = (await manager.all('/api/v1/work-orders?state=drafted')).filter(
        ({ skill, taskNames }) => skill === 'technician' && !taskNames.some((name: string) => name.includes('motor brushes')),
      )
      const [first] = drafts.filter((one) => me.warehouses.some(({ id }: any) => id === one.warehouse.id))
      const both = drafts.filter((one) => one.warehouse.id === first.warehouse.id).slice(0, 2)
      const page = await desk.open(DESK, 'manager', '/')
      await to(page, `visits/new?warehouseId=${first.warehouse.id}`)
      for (const { machine } of both)
        await page
          .getByRole('checkbox', { name: new RegExp(machine.labelCode) })
          .first()
          .check()
      await page.getByLabel('Technician', { exact: true }).selectOption(me.person.id)
      // Stands in for whatever else may keep an order from being issued.
      const refusal = {
        status: 409,
        contentType: 'application/problem+json',
        body: JSON.stringify({ detail: 'Another visit has it now.' }),
      }
      await page.route(`**/work-orders/${both[1].id}/issue`, (route) => route.fulfill(refusal))
      await page.getByRole('button', { name: 'Save, and issue its orders' }).click()
      const alarm = page.getByRole('alert')
      await alarm.getByText(`Order ${both[1].number}, ${both[1].machine.labelCode}: Another visit has it now.`).waitFor()
      await alarm.getByText('The visit is saved. These could not be issued:').waitFor()
      await shoot(page, 'visit-not-issued')
      expect(await wrongHere(page)).toEqual([])
      await page.unroute(`**/work-orders/${both[1].id}/issue`)
      await page.getByRole('button', { name: 'Save, and issue its orders' }).click()
      await page.waitForURL(/\/visits\?/)
      const visits = await Promise.all(
        (await manager.all(`/api/v1/visits?warehouseId=${first.warehouse.id}`)).map(({ id }) => manager.get(`/api/v1/visits/${id}`)),
      )
      const withThem = visits.filter(({ workOrders }) => workOrders.some(({ id }: any) => both.some((one) => one.id === id)))
      expect(withThem.map(({ workOrders }) => workOrders.map(({ state }: any) => state))).toEqual([both.map(() => 'issued')])
      await page.context().close()
    }, 120_000)

    it('says what was typed on site in plain words, with the part’s name and the reader’s units', async () => {
      const order = await issued({ only: 'Replace both motor brushes as a set' })
      await enter(order, { kind: 'accept' })
      await enter(order, { kind: 'note', text: 'Felt looks dry.' })
      await enter(order, { kind: 'finding', text: 'Cord rubs on the frame', withinDays: 14 })
      const statement = (await sheetOf(order)).acknowledgement
      await enter(order, { kind: 'acknowledge_cautions', statement })
      await enter(order, { kind: 'start' })
      await enter(order, { kind: 'wait', waitingFor: 'part', note: 'comes on Friday' })
      await enter(order, { kind: 'resume' })
      await enter(order, { kind: 'acknowledge_cautions', statement })
      const sheet = await sheetOf(order)
      const part = sheet.partsThatFit.find(({ onHand }: any) => onHand > 0)
      await enter(order, { kind: 'use_part', partId: part.partId, quantity: 1 })
      await enter(order, { kind: 'tag_out', reason: 'Smells burnt' })
      await enter(order, { kind: 'task_not_done', taskId: sheet.tasks[0].id, reason: 'no time' })
      await enter(order, { kind: 'finish', minutesWorked: 25, note: 'Ask me before it runs.' })
      const page = await desk.open(DESK, 'manager', '/')
      await to(page, `work/${order.id}`)
      const said = page.getByRole('region', { name: 'Entries' })
      for (const words of [
        'accepted it',
        'wrote: “Felt looks dry.”',
        'found, which asks for work within 14 days: “Cord rubs on the frame”',
        'waits for a part: “comes on Friday”',
        `used 1 × ${part.name}`,
        'tagged the machine out: “Smells burnt”',
        `${sheet.tasks[0].name}: not done: “no time”`,
        'finished, after 25 minutes of work: “Ask me before it runs.”',
      ])
        await said
          .getByRole('listitem')
          .filter({ hasText: words.replaceAll(/[“”]/g, '') })
          .first()
          .waitFor()
      expect(await said.locator('q', { hasText: 'comes on Friday' }).count()).toBe(1)
      expect(await wrongHere(page)).toEqual([])
      await shoot(page, 'desk-order-entries')
      await page.context().close()
    }, 120_000)

    it('says measured values in the units of whoever reads them', async () => {
      const order = await issued({ only: 'Measure both motor brushes' })
      await workThrough(technician, order, { at, measure: () => 11.43 })
      const page = await desk.open(PHONE, 'manager', '/')
      const shows = async (words: string) => {
        await to(page, `work/${order.id}`)
        await page.getByRole('region', { name: 'Entries' }).getByText(words).first().waitFor()
      }
      await shows(': 11.4 mm, as found')
      await manager.must('PATCH', '/api/v1/me', { units: 'us' })
      await shows(': 0.450 in, as found')
      await manager.must('PATCH', '/api/v1/me', { units: 'si' })
      expect(await wrongHere(page)).toEqual([])
      await page.context().close()
    }, 120_000)

    it.each(SIZES)(
      'at %s size hands an accepted order to another, after showing what somebody else changed meanwhile',
      async (name, size) => {
        const order = await issued({ tasks: 1 })
        await enter(order, { kind: 'accept' })
        const standIn = {
          name: `Stand-in (${name})`,
          email: `stand-in-${name}@tape.example`,
          role: 'technician',
          warehouseIds: [order.warehouse.id],
        }
        await (await desk.client('administrator')).post('/api/v1/people', standIn)
        const page = await desk.open(size, 'manager', '/')
        await to(page, `work/${order.id}`)
        await page.getByRole('button', { name: 'Change technician, day, note…' }).click()
        const form = page.getByRole('form', { name: `Change order ${order.number}` })
        // The button that was pressed is gone: the first field has the focus.
        await page.waitForSelector('form select:focus')
        await form.getByLabel('Technician').selectOption({ index: 1 })
        const chosen = await form.getByLabel('Technician').inputValue()
        await form.getByText('is told with the next mail').waitFor()
        await form.getByLabel('Note').fill('Key at the gate.')
        await form.getByLabel('Planned on').fill('2027-03-07')
        // A Sunday.
        await form.getByText('No shift works on this day.').waitFor()
        await form.getByLabel('Planned on').fill(order.plannedOn ?? '')
        expect(await wrongHere(page)).toEqual([])
        await manager.must('PATCH', `/api/v1/work-orders/${order.id}`, { note: 'Door code 12.', plannedOn: '2027-03-08' })
        await form.getByRole('button', { name: 'Keep' }).click()
        await form.getByRole('alert').getByText('Door code 12.').waitFor()
        // What was typed stays; what was not touched is as the other left it.
        expect(await form.getByLabel('Note').inputValue()).toBe('Key at the gate.')
        expect(await form.getByLabel('Planned on').inputValue()).toBe('2027-03-08')
        expect(await form.getByLabel('Technician').inputValue()).toBe(chosen)
        expect(await wrongHere(page)).toEqual([])
        await shoot(page, `${name}-order-changed-meanwhile`)
        expect((await sheetOf(order)).technician.id).toBe(me.person.id)
        await form.getByRole('button', { name: 'Keep mine all the same' }).click()
        await form.waitFor({ state: 'detached' })
        expect(await sheetOf(order)).toMatchObject({
          state: 'issued',
          technician: { id: chosen },
          plannedOn: '2027-03-08',
          note: 'Key at the gate.',
        })
        const mine = await technician.all('/api/v1/work-orders?mine=true')
        expect(mine.map(({ id }) => id)).not.toContain(order.id)
        await page.context().close()
        // Whoever had it open on the phone reads whose it is now, and the note.
        const onSite = await desk.open(PHONE, 'technician', '/hand.html')
        await desk.to(onSite, `/hand.html#/order/${order.id}`)
        await onSite.getByText(/This order is with .+, not with you/).waitFor()
        await onSite.getByText('Key at the gate.').waitFor()
        expect(await wrongHere(onSite)).toEqual([])
        await onSite.context().close()
      },
      120_000,
    )

    it.each(SIZES)(
      'at %s size returns an order with one of its tasks struck out',
      async (name, size) => {
        const order = await issued({ tasks: 2 })
        const { tasks } = await workThrough(technician, order, { at, measure: () => 11.4 })
        const page = await desk.open(size, 'manager', '/')
        await to(page, `work/${order.id}`)
        await page.getByRole('button', { name: 'Return to the technician…' }).click()
        const form = page.getByRole('form', { name: `Return order ${order.number}` })
        await form.getByRole('checkbox', { name: tasks[1].name }).check()
        await form.getByRole('button', { name: 'Return it' }).click()
        // Nothing is sent without a reason.
        expect((await sheetOf(order)).state).toBe('done')
        await form.getByLabel('Why does it go back to the technician?').fill('measured the wrong edge')
        expect(await wrongHere(page)).toEqual([])
        await shoot(page, `${name}-order-return`)
        await form.getByRole('button', { name: 'Return it' }).click()
        await form.waitFor({ state: 'detached' })
        const after = await sheetOf(order)
        expect([after.state, ...after.tasks.map(({ outcome }: any) => outcome)]).toEqual(['returned', 'done', null])
        await page.getByText('Returned: measured the wrong edge').first().waitFor()
        await page.context().close()
      },
      120_000,
    )

    it.each(SIZES)(
      'at %s size leaves a falling-due out after saying what follows, and never a safety check',
      async (name, size) => {
        const { items, warehouses } = await manager.get('/api/v1/coming-up?weeks=8&limit=500')
        const todayOf = (id: string) => warehouses.find((hall: any) => hall.id === id).today
        const open = items.filter(({ occurrenceId, occurrenceKind }: any) => occurrenceId && occurrenceKind !== 'monthly')
        const may = open.find((one: any) => !one.safetyCheck && one.hardLimitOn && one.hardLimitOn >= todayOf(one.warehouseId))
        const late = open.find((one: any) => !one.safetyCheck && one.hardLimitOn && one.hardLimitOn < todayOf(one.warehouseId))
        const safety = open.find((one: any) => one.safetyCheck)
        const page = await desk.open(size, 'manager', '/')
        const decide = async (item: any) => {
          await to(page, `coming-up?search=${item.labelCode}`)
          const row = page.locator('tr').filter({ hasText: item.taskName })
          await row
            .getByRole('button', { name: `Decide on ${item.labelCode}` })
            .first()
            .click()
        }
        await decide(safety)
        await page.getByText('A safety check cannot be put off or left out.').waitFor()
        await decide(late)
        await page.getByText(/Past its hard limit, .+, only an administrator may leave it out/).waitFor()
        await decide(may)
        await page.getByRole('button', { name: 'Leave it out this time…' }).click()
        const form = page.getByRole('form', { name: 'Leave out' })
        await form.getByText(/due next on|due again at once|no next date/).waitFor({ timeout: 60_000 })
        const follows = await manager.post(`/api/v1/occurrences/${may.occurrenceId}/skipping-preview`)
        for (const { number } of follows.workOrders) await form.getByText(`rder ${number}`).waitFor()
        expect(await wrongHere(page)).toEqual([])
        await form.scrollIntoViewIfNeeded()
        await shoot(page, `${name}-leave-out`)
        await form.getByRole('button', { name: 'Leave it out' }).click()
        expect((await manager.get(`/api/v1/occurrences/${may.occurrenceId}`)).state).toBe('open')
        await form.getByLabel('Reason').fill('a new machine comes')
        await form.getByRole('button', { name: 'Leave it out' }).click()
        await form.waitFor({ state: 'detached' })
        expect(await manager.get(`/api/v1/occurrences/${may.occurrenceId}`)).toMatchObject({
          state: 'skipped',
          endReason: 'a new machine comes',
        })
        await page.context().close()
      },
      120_000,
    )

    it('offers an electrical order only to those who are set down as qualified, of more people than one page holds', async () => {
      const root = await desk.client('administrator')
      const order = (await manager.all('/api/v1/work-orders?state=drafted')).find(({ skill }) => skill === 'electrical')
      const add = (name: string, electricallyQualified: boolean) =>
        root.post('/api/v1/people', { name, role: 'technician', electricallyQualified, warehouseIds: [order.warehouse.id] })
      for (let from = 0; from < 200; from += 10) await Promise.all(Array.from({ length: 10 }, (_, one) => add(`Many ${from + one}`, false)))
      await add('Zora, the last of all', true)
      const able = (await manager.all('/api/v1/people')).filter(
        ({ role, electricallyQualified, disabled, warehouseIds }) =>
          role === 'technician' && electricallyQualified && !disabled && warehouseIds.includes(order.warehouse.id),
      )
      const page = await desk.open(DESK, 'manager', '/')
      await to(page, `work/${order.id}`)
      const issue = page.getByLabel(`Issue order ${order.number} to`)
      await issue.locator('option').nth(1).waitFor({ state: 'attached' })
      expect(able.map((person) => person.name)).toContain('Zora, the last of all')
      const offered = (await issue.locator('option').allTextContents()).slice(1)
      expect(new Set(offered)).toEqual(new Set(able.map((person) => person.name)))
      await issue.selectOption(able[0].id)
      // Chosen is not issued yet: by the arrow keys one goes through all the names.
      expect(await sheetOf(order)).toMatchObject({ state: 'drafted' })
      await page.getByRole('button', { name: `Issue order ${order.number} to ${able[0].name}` }).click()
      await page.getByRole('button', { name: 'Change technician, day, note…' }).waitFor()
      expect(await sheetOf(order)).toMatchObject({ state: 'issued', technician: { id: able[0].id } })
      await page.context().close()
    }, 90_000)
  })
