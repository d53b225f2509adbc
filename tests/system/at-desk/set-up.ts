/** What was set up is put right in a real browser: people, stations, the warehouse itself, machine types; each looked at by the api afterwards. */
import { beforeAll, describe, expect, it } from '@jest/globals'
import type { Page } from 'playwright-core'
import { DESK, type DeskGround, PHONE, wrongWith } from '../support/desk-ground.js'
import { type Client, clientOf, until } from '../support/running.js'

let desk: DeskGround
let manager: Client
let administrator: Client
const personNamed = async (name: string): Promise<any> => (await manager.all('/api/v1/people')).find((one) => one.name === name)
const focused = (page: Page): Promise<string> =>
  page.evaluate<string>('document.activeElement.getAttribute("aria-label") ?? document.activeElement.textContent')

export const setUp = (ground: () => DeskGround): void =>
  describe('set-up', () => {
    beforeAll(async () => {
      desk = ground()
      manager = await desk.client('manager')
      administrator = await desk.client('administrator')
    })

    it('changes who somebody is and where they serve, and says what another changed meanwhile', async () => {
      const [north, south] = (await manager.get('/api/v1/warehouses')).items
      await administrator.post('/api/v1/people', {
        name: 'Typpo Person',
        email: 'typpo@tape.example',
        role: 'technician',
        warehouseIds: [north.id],
      })
      const before = await personNamed('Typpo Person')
      const page = await desk.open(DESK, 'administrator', '/set-up/people')
      await page.getByRole('button', { name: 'Change… Typpo Person' }).click()
      const form = page.getByRole('form', { name: 'Change Typpo Person' })
      await page.waitForSelector('input[name=name]:focus')
      await form.getByLabel('Name').fill('Tyra Person')
      await form.getByLabel('E-mail').fill((await personNamed('Maren Tolk')).email)
      await form.getByRole('button', { name: 'Keep' }).click()
      await form.getByText('Somebody has this mail address already.').waitFor()
      await form.getByLabel('E-mail').fill('tyra@tape.example')
      await form.getByLabel('Role').selectOption('manager')
      await form.getByLabel('Qualified electrical person').check()
      await form.getByLabel(south.name).check()
      await administrator.must('PATCH', `/api/v1/people/${before.id}`, { name: 'Tira Person' })
      await form.getByRole('button', { name: 'Keep' }).click()
      await form.getByText('Somebody changed this while it was open here. What you typed is still here.').waitFor()
      await form.getByText('Name is now Tira Person.').waitFor()
      expect(await wrongWith(page, 'set-up-person')).toEqual([])
      await form.getByRole('button', { name: 'Keep' }).click()
      await page.waitForSelector('h2:has-text("Tyra Person")')
      await form.waitFor({ state: 'detached' })
      expect(await personNamed('Tyra Person')).toMatchObject({
        id: before.id,
        email: 'tyra@tape.example',
        role: 'manager',
        electricallyQualified: true,
        warehouseIds: [north.id, south.id].toSorted((a: string, b: string) => a.localeCompare(b)),
      })
      await page.context().close()
    }, 120_000)

    it('refuses to take an address or a warehouse from who is named there, and names what to do', async () => {
      const hall = (await manager.get('/api/v1/warehouses')).items.find(({ firstPersonId }: any) => firstPersonId !== null)
      const page = await desk.open(DESK, 'administrator', '/set-up/people')
      await page.getByRole('button', { name: `Change… ${hall.firstPersonName}` }).click()
      const form = page.getByRole('form', { name: `Change ${hall.firstPersonName}` })
      await form.getByLabel('E-mail').fill('')
      await form.getByRole('button', { name: 'Keep' }).click()
      await form.getByText(/^Reminders of .+ need an address\. Name somebody else there first/).waitFor()
      expect((await personNamed(hall.firstPersonName)).email).not.toBeNull()
      await form.getByRole('button', { name: 'Leave as it was' }).click()
      await form.waitFor({ state: 'detached' })
      expect(await focused(page)).toContain(hall.firstPersonName)
      await page.context().close()
    }, 60_000)

    it('takes back an instruction after saying what follows, and an absence', async () => {
      const shown = (await manager.all('/api/v1/people')).find(({ role, instructions }) => role === 'instructed' && instructions.length > 0)
      const [first] = shown.instructions
      await manager.post(`/api/v1/people/${shown.id}/absences`, { fromDate: '2027-02-01', toDate: '2027-02-12' })
      const page = await desk.open(DESK, 'manager', '/set-up/people')
      const section = page.getByRole('region', { name: shown.name })
      await section.getByRole('button', { name: new RegExp(`^Take back: ${shown.name} away 1 Feb( 2027)? to 12 Feb( 2027)?$`) }).click()
      await section.getByText('Away 1 Feb').waitFor({ state: 'detached' })
      const name = new RegExp(`^Take back… ${shown.name} was shown ${first.machineTypeName} on \\d{1,2} [A-Z][a-z]{2}`)
      await section.getByRole('button', { name }).first().click()
      const asked = section.getByRole('group', { name })
      expect(await asked.textContent()).toContain(`${shown.name} is offered no care of ${first.machineTypeName} any more`)
      expect(await wrongWith(page, 'set-up-take-back')).toEqual([])
      await asked.getByRole('button', { name: 'Let it stand' }).click()
      expect(await focused(page)).toMatch(name)
      await section.getByRole('button', { name }).first().click()
      await asked.getByRole('button', { name: 'Take it back' }).click()
      await section.getByRole('button', { name }).waitFor({ state: 'detached' })
      const after = await personNamed(shown.name)
      expect([after.instructions.map(({ id }: any) => id), after.absences]).toEqual([
        shown.instructions.slice(1).map(({ id }: any) => id),
        shown.absences,
      ])
      await page.context().close()
    }, 90_000)

    it('lets cartons count that were set aside once their station says how many strips they take', async () => {
      const [given] = (await manager.get('/api/v1/evidence?kind=cartons_day&limit=1')).items
      const params = `/api/v1/stations/${given.station.id}`
      await manager.must('PATCH', params, { stripsPerCarton: null })
      const setAside = async (): Promise<string[]> => {
        const { items } = await manager.get('/api/v1/evidence?kind=cartons_day&state=set_aside&limit=200')
        return items.filter(({ station }: any) => station.id === given.station.id).map(({ setAsideCode }: any) => setAsideCode)
      }
      await until('set aside', 60, async () => (await setAside()).includes('NO_STRIPS_PER_CARTON'))
      const page = await desk.open(DESK, 'manager', '/evidence')
      await page
        .getByRole('link', { name: `Enter it at ${given.station.name}` })
        .first()
        .click()
      await page.getByRole('button', { name: `Change… ${given.station.name}`, exact: true }).click()
      const form = page.getByRole('form', { name: `Change ${given.station.name}` })
      await form.getByLabel('Strips a carton').fill('2.25')
      await form.getByLabel('If it stops').selectOption('stops')
      expect(await wrongWith(page, 'set-up-station')).toEqual([])
      await form.getByRole('button', { name: 'Keep' }).click()
      await form.waitFor({ state: 'detached' })
      expect(await focused(page)).toBe(`Change… ${given.station.name}`)
      const { stripsPerCarton, ifStopped, warehouseId } = await manager.get(params)
      expect({ stripsPerCarton, ifStopped }).toEqual({ stripsPerCarton: 2.25, ifStopped: 'stops' })
      await until('the planning pass', 90, async () => (await manager.get(`/api/v1/warehouses/${warehouseId}`)).upToDate)
      expect(await setAside()).not.toContain('NO_STRIPS_PER_CARTON')
      const [machine] = (await manager.get(params)).machines
      const { days } = await manager.get(`/api/v1/machines/${machine.id}/usage?from=${given.fromDate}&to=${given.fromDate}`)
      expect(days).toMatchObject([{ day: given.fromDate, kind: 'cartons' }])
      await page.context().close()
    }, 240_000)

    it.each([
      ['desk', DESK],
      ['phone', PHONE],
    ] as const)(
      'at %s size moves stations in the walk by the keyboard, and has all of more than two hundred',
      async (name, size) => {
        const hall = await manager.post('/api/v1/warehouses', { name: `Long walk ${name}`, zone: 'Europe/Berlin' })
        const count = name === 'desk' ? 203 : 3
        for (let at = 1; at <= count; at += 1)
          await manager.post('/api/v1/stations', { warehouseId: hall.id, name: `W${String(at).padStart(3, '0')}`, walkingOrder: at * 10 })
        const page = await desk.open(size, 'manager', `/set-up/warehouses/${hall.id}`)
        const rows = page.locator('section[aria-labelledby=stations] tr[data-station]')
        await rows.first().waitFor()
        expect(await rows.count()).toBe(count)
        const first = page.getByRole('button', { name: 'Earlier in the walk: W001' })
        expect(await first.isDisabled()).toBe(true)
        await page.getByRole('button', { name: 'Earlier in the walk: W003' }).focus()
        await page.keyboard.press('Enter')
        await page.getByText(`W003 is number 2 of ${count} in the walk.`).waitFor()
        expect(await focused(page)).toBe('Earlier in the walk: W003')
        await page.keyboard.press('Enter')
        await page.getByText(`W003 is number 1 of ${count} in the walk.`).waitFor()
        // There is nothing earlier: the other way has the focus.
        expect(await focused(page)).toBe('Later in the walk: W003')
        const walk = await manager.all(`/api/v1/stations?warehouseId=${hall.id}`)
        expect(walk.slice(0, 3).map(({ name: station, walkingOrder }) => [station, walkingOrder])).toEqual([
          ['W003', 10],
          ['W001', 20],
          ['W002', 30],
        ])
        await page.getByRole('button', { name: 'Change… W002' }).click()
        const form = page.getByRole('form', { name: 'Change W002' })
        await form.getByLabel('Name').fill('W002 at the door')
        await form.getByLabel('Line or zone').fill('North')
        await form.getByLabel('Place in the walk').fill('5')
        if (name === 'phone') expect(await wrongWith(page, 'set-up-walk-phone')).toEqual([])
        await form.getByRole('button', { name: 'Keep' }).click()
        await form.waitFor({ state: 'detached' })
        expect((await manager.all(`/api/v1/stations?warehouseId=${hall.id}`))[0]).toMatchObject({
          name: 'W002 at the door',
          line: 'North',
          walkingOrder: 5,
        })
        await page.getByRole('button', { name: 'Change… W001' }).click()
        await page.getByRole('button', { name: 'Remove… W001' }).click()
        await page.getByRole('group', { name: 'Remove… W001' }).getByRole('button', { name: 'Remove it' }).click()
        await page.locator('tr[data-station]', { hasText: 'W001' }).waitFor({ state: 'detached' })
        expect(await focused(page)).toBe('Stations in walking order')
        expect(await manager.all(`/api/v1/stations?warehouseId=${hall.id}`)).toHaveLength(count - 1)
        await page.context().close()
      },
      240_000,
    )

    it('asks before closed days are gone, and leaves them where it was not meant', async () => {
      const [hall] = (await manager.get('/api/v1/warehouses')).items
      const params = { fromDate: '2031-05-05', toDate: '2031-05-06', reason: 'Stocktaking' }
      await manager.post(`/api/v1/warehouses/${hall.id}/closures`, params)
      const closures = async (): Promise<string[]> =>
        (await manager.get(`/api/v1/warehouses/${hall.id}`)).closures.map(({ reason }: { reason: string }) => reason)
      const page = await desk.open(DESK, 'manager', `/set-up/warehouses/${hall.id}`)
      const remove = page.getByRole('button', { name: /^Remove….*Stocktaking$/ })
      const asked = page.getByRole('group', { name: /^Remove….*Stocktaking$/ })
      await remove.click()
      await asked.getByText('dates may move').waitFor()
      expect(await closures()).toContain('Stocktaking')
      await asked.getByRole('button', { name: 'Leave it' }).click()
      expect(await focused(page)).toMatch(/^Remove….*Stocktaking$/)
      await remove.click()
      await asked.getByRole('button', { name: 'Remove it' }).click()
      await remove.waitFor({ state: 'detached' })
      expect(await closures()).not.toContain('Stocktaking')
      await page.context().close()
    }, 120_000)

    it('says who else is told by now where two change it at once, and keeps both', async () => {
      const [one, other] = ['administrator', 'manager'].map((role) => desk.system.signIns.find((person) => person.role === role)!.name)
      const [first, second] = [await personNamed(one!), await personNamed(other!)]
      const hall = await manager.post('/api/v1/warehouses', { name: 'Told by two', zone: 'Europe/Berlin' })
      const page = await desk.open(DESK, 'manager', `/set-up/warehouses/${hall.id}`)
      const told = page.getByRole('region', { name: 'Who is told' })
      await told.getByLabel('Reminders go to').selectOption(first.id)
      await administrator.must('PATCH', `/api/v1/warehouses/${hall.id}`, { secondPersonId: second.id })
      await told.getByRole('button', { name: 'Keep' }).click()
      await told.getByText('Somebody changed this while it was open here.').waitFor()
      await told.getByText(`Who is told then is now ${other}.`).waitFor()
      expect(await told.getByLabel('Reminders go to').inputValue()).toBe(first.id)
      expect(await wrongWith(page, 'told-by-two')).toEqual([])
      await told.getByRole('button', { name: 'Keep' }).click()
      await until('both are kept', 30, async () => {
        const { firstPersonId, secondPersonId } = await manager.get(`/api/v1/warehouses/${hall.id}`)
        return firstPersonId === first.id && secondPersonId === second.id
      })
      await page.context().close()
    }, 60_000)

    it('sets a password where no mail gets through, and the person gets in with it alone', async () => {
      const [north] = (await manager.get('/api/v1/warehouses')).items
      const body = { name: 'Noor Mailless', email: 'noor@tape.example', role: 'manager', warehouseIds: [north.id] }
      await administrator.post('/api/v1/people', body)
      const page = await desk.open(DESK, 'administrator', '/set-up/people')
      await page.getByText('Set a password for Noor Mailless, where no mail gets through…').click()
      const form = page.getByRole('form', { name: 'Password of Noor Mailless' })
      await form.getByLabel('New password').fill('password12')
      await form.getByRole('button', { name: 'Set it' }).click()
      await form.getByRole('alert').waitFor()
      await form.getByLabel('New password').fill('felt drops on mondays')
      await form.getByRole('button', { name: 'Set it' }).click()
      await page.getByText('Kept. Noor Mailless’s sessions have ended').waitFor()
      const noor = await clientOf(desk.system)
      await noor.signIn({ email: 'noor@tape.example', password: 'felt drops on mondays' })
      expect((await noor.get('/api/v1/me')).person.name).toBe('Noor Mailless')
      await page.context().close()
    }, 90_000)

    it('puts the warehouse itself right, and names for its reminders who serves elsewhere', async () => {
      const hall = await manager.post('/api/v1/warehouses', { name: 'Wraehouse', zone: 'Europe/Berlin' })
      const page = await desk.open(DESK, 'manager', `/set-up/warehouses/${hall.id}`)
      await page.getByRole('button', { name: 'Change… Wraehouse' }).click()
      const form = page.getByRole('form', { name: 'Change Wraehouse' })
      await form.getByLabel('Name').fill('Warehouse at the quay')
      await form.getByLabel('An hour of one machine’s stoppage costs').fill('120')
      expect(await wrongWith(page, 'set-up-warehouse')).toEqual([])
      await form.getByRole('button', { name: 'Keep' }).click()
      await page.waitForSelector('h1:has-text("Warehouse at the quay")')
      const told = page.getByRole('region', { name: 'Who is told' })
      await told.getByLabel('Reminders go to').selectOption({ label: 'Maren Tolk' })
      await told.getByRole('button', { name: 'Keep' }).click()
      await until('named', 30, async () => (await manager.get(`/api/v1/warehouses/${hall.id}`)).firstPersonName === 'Maren Tolk')
      expect(await manager.get(`/api/v1/warehouses/${hall.id}`)).toMatchObject({ name: 'Warehouse at the quay', stoppageCostPerHour: 120 })
      await page.goto(new URL('/set-up', page.url()).href)
      const said = page.getByRole('region', { name: 'Warehouse at the quay' })
      await said.getByText('Reminders go to Maren Tolk, then nobody.').waitFor()
      await page.context().close()
    }, 90_000)

    it('puts a machine type right, and gives it a component of one’s own', async () => {
      const made = await manager.post('/api/v1/machine-types', {
        name: 'Electrik',
        drive: 'electric',
        supply: 'cord_and_plug',
        heater: true,
        shortestStripMm: 150,
        longestStripMm: 1150,
      })
      const page = await desk.open(DESK, 'manager', '/set-up')
      await page.getByRole('link', { name: 'Electrik' }).click()
      const form = page.getByRole('form', { name: 'What is known of it' })
      await form.getByLabel('Name of the type').fill('Electric')
      await form.getByLabel('Usual strips a day').fill('900')
      await form.getByLabel('It has a heater').uncheck()
      await form.getByLabel('Longest strip').fill('100')
      await form.getByRole('button', { name: 'Keep' }).click()
      await form.getByText('The longest strip must not be below the shortest.').waitFor()
      expect(await wrongWith(page, 'set-up-type')).toEqual([])
      await form.getByLabel('Longest strip').fill('1150')
      await form.getByLabel('Length keys').fill('150; 500; 1150')
      await form.getByRole('button', { name: 'Keep' }).click()
      await page.getByText('Kept. Dates of its machines are worked out anew.').waitFor()
      await page.getByText('Add a component of your own…').click()
      const own = page.getByRole('form', { name: 'Add a component of your own' })
      await own.getByLabel('What it is called').fill('Dust fliter')
      await own.getByRole('button', { name: 'Add it to this type' }).click()
      await page.getByRole('checkbox', { name: 'Dust fliter' }).waitFor()
      await page.getByText('Call a component by another name…').click()
      const rename = page.getByRole('form', { name: 'Call a component by another name' })
      await rename.getByLabel('Component').selectOption({ label: 'Dust fliter' })
      await rename.getByLabel('New name').fill('Dust filter')
      await rename.getByRole('button', { name: 'Keep the name' }).click()
      await page.getByRole('checkbox', { name: 'Dust filter' }).waitFor()
      await page.getByRole('checkbox', { name: 'Heater', exact: true }).uncheck()
      await page.getByRole('button', { name: 'Keep what it has' }).click()
      const type = (): Promise<any> => manager.get(`/api/v1/machine-types/${made.id}`)
      const keys = async (): Promise<string[]> => (await type()).componentTypes.map(({ key }: any) => key)
      await until('without its heater', 30, async () => !(await keys()).includes('heater'))
      expect(await keys()).toContain('own_dust_fliter')
      expect(await type()).toMatchObject({
        name: 'Electric',
        usualStripsPerDay: 900,
        heater: false,
        longestStripMm: 1150,
        lengthKeysMm: [150, 500, 1150],
        currentPlanVersion: 2,
      })
      // What was changed on one half of the page is no conflict on the other.
      await form.getByLabel('Usual strips a day').fill('950')
      await form.getByRole('button', { name: 'Keep' }).click()
      await until('kept', 30, async () => (await type()).usualStripsPerDay === 950)
      await page.getByRole('button', { name: 'Remove… Electric' }).click()
      await page.getByRole('button', { name: 'Remove it' }).click()
      await page.waitForSelector('h1:has-text("Set-up")')
      expect((await manager.ask('GET', `/api/v1/machine-types/${made.id}`)).status).toBe(404)
      await page.context().close()
    }, 120_000)

    it('saves no version of a plan over one that somebody else saved meanwhile without a word', async () => {
      const made = await manager.post('/api/v1/machine-types', {
        name: 'Planned by two',
        drive: 'electric',
        supply: 'cord_and_plug',
        heater: true,
        shortestStripMm: 150,
        longestStripMm: 900,
      })
      const plan = await manager.get(`/api/v1/service-plans/${made.currentPlanId}`)
      const versions = async (): Promise<any[]> => (await manager.get(`/api/v1/machine-types/${made.id}/service-plans`)).items
      const page = await desk.open(DESK, 'manager', `/set-up/plans/${plan.id}/edit`)
      await page.getByLabel('What was changed, and why').fill('Mine')
      await page.getByRole('button', { name: 'Show which dates move' }).click()
      const save = page.getByRole('button', { name: /^Save as version/ })
      await save.waitFor()
      const tasks = plan.tasks.map(({ planTaskId: _plan, serviceTaskId: _task, position: _place, ...task }: any) => task)
      await administrator.post(`/api/v1/machine-types/${made.id}/service-plans`, { note: 'Theirs', tasks })
      await save.click()
      await page.getByText('Version 2 of this plan was saved by').waitFor()
      await page.getByRole('link', { name: 'Look at version 2' }).waitFor()
      expect(await wrongWith(page, 'plan-by-two')).toEqual([])
      expect((await versions()).map(({ note }) => note)).toEqual(['Theirs', plan.note])
      expect(await page.getByLabel('What was changed, and why').inputValue()).toBe('Mine')
      await page.getByRole('button', { name: 'Save as version 3' }).click()
      await page.waitForURL(/\/set-up\/plans\/[\w-]+$/)
      expect((await versions()).map(({ note }) => note)).toEqual(['Mine', 'Theirs', plan.note])
      await page.context().close()
    }, 120_000)
  })
