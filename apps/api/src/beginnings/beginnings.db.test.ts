import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'
import { townsWithOtherNames } from './town-names.js'

let api: TestApi
let us: ApiOrganisation
const ANSWERS = {
  name: 'East hall',
  zone: 'Europe/Berlin',
  place: 'Leipzig, Saxony, Germany',
  machineCount: 12,
  supply: 'cord_and_plug',
  heater: 'no',
}

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
})
afterAll(() => api.close())

const ours = <Row extends object>(sql: string, id: string): Promise<Row[]> =>
  api.database.withOrganisationSql(us.organisationId, (scope) => scope.rows<Row & Record<string, unknown>>(sql, [id]))

describe('the town', () => {
  // Zones of the IANA database for places that anybody can look up.
  it.each([
    ['Hamburg', 'Europe/Berlin'],
    ['münchen', 'Europe/Berlin'],
    ['Munich', 'Europe/Berlin'],
    ['Springfield, Illinois', 'America/Chicago'],
    ['São Paulo', 'America/Sao_Paulo'],
    ['sao paulo', 'America/Sao_Paulo'],
    ['Perth, Australia', 'Australia/Perth'],
    ['Phoenix', 'America/Phoenix'],
    ['Nürnberg', 'Europe/Berlin'],
    ['Lübeck', 'Europe/Berlin'],
    ['Goettingen', 'Europe/Berlin'],
    ['Österreich', 'Europe/Vienna'],
    ['Köln, Deutschland', 'Europe/Berlin'],
    ['Polska', 'Europe/Warsaw'],
  ])('%s keeps the clocks of %s', async (search, zone) => {
    const { body } = await us.manager('GET', `places?search=${encodeURIComponent(search)}`)
    expect(body.items[0]).toMatchObject({ zone })
  })

  it.each([
    ['Köln', 'Köln', 'Europe/Berlin'],
    ['koeln', 'Köln', 'Europe/Berlin'],
    ['Zürich', 'Zürich', 'Europe/Zurich'],
    ['Prag', 'Prag', 'Europe/Prague'],
    ['Mailand', 'Mailand', 'Europe/Rome'],
    ['Warschau', 'Warschau', 'Europe/Warsaw'],
    ['Lüttich', 'Lüttich', 'Europe/Brussels'],
    ['Antwerpen', 'Antwerpen', 'Europe/Brussels'],
    ['Breslau', 'Breslau', 'Europe/Warsaw'],
    ['Straßburg', 'Straßburg', 'Europe/Paris'],
    ['Varsovia', 'Varsovia', 'Europe/Warsaw'],
    ['deutschland', 'Deutschland', 'Europe/Berlin'],
  ])('%s is asked for by a name of its own language', async (search, name, zone) => {
    const { body } = await us.manager('GET', `places?search=${encodeURIComponent(search)}`)
    expect(body.items[0]).toMatchObject({ name, zone, asked: true })
  })

  it('has its other names for towns that there are', async () => {
    for (const town of townsWithOtherNames)
      expect([town, (await us.manager('GET', `places?search=${encodeURIComponent(town)}`)).body.items[0]?.asked]).toEqual([town, true])
  })

  it('is not asked for while it is being typed, and a country offers each of its zones', async () => {
    const { body } = await us.manager('GET', 'places?search=Hambur')
    expect(body.items[0]).toMatchObject({ name: 'Hamburg', asked: false })
    const { items } = (await us.manager('GET', 'places?search=Australien')).body
    expect(items.map(({ zone }: Json) => zone)).toEqual(expect.arrayContaining(['Australia/Sydney', 'Australia/Perth', 'Australia/Darwin']))
  })

  it('gives nothing for a name that is none, for one letter, and for signs', async () => {
    for (const search of ['Qqxyzzy', 'H', '%_', "'; --"])
      expect((await us.manager('GET', `places?search=${encodeURIComponent(search)}`)).body).toEqual({ items: [] })
  })
})

describe('seven answers', () => {
  it('make a warehouse with its people, its machines counted, nothing late, in one go', async () => {
    const { status, body } = await us.administrator('POST', 'beginnings', {
      ...ANSWERS,
      first: { personId: us.people.manager },
      second: { name: 'Rasa Vilkas', email: 'rasa@east.example' },
    })
    expect(status).toBe(201)
    expect(body).toMatchObject({
      warehouse: { name: 'East hall', zone: 'Europe/Berlin' },
      atStation: 0,
      labelled: 0,
      second: { name: 'Rasa Vilkas', email: 'rasa@east.example' },
      testMails: [],
    })
    const { items } = (await us.manager('GET', `machines?warehouseId=${body.warehouse.id}&order=label`)).body
    expect(items.map((machine: Json) => machine.labelCode)).toEqual(
      Array.from({ length: 12 }, (_, index) => `D-${String(index + 1).padStart(3, '0')}`),
    )
    expect(items.every((machine: Json) => machine.lateOccurrences === 0 && machine.machineType.supply === 'cord_and_plug')).toBe(true)
    // The new person is invited, and serves the warehouse.
    const { items: people } = (await us.administrator('GET', `people?warehouseId=${body.warehouse.id}`)).body
    expect(people.map((person: Json) => person.name)).toContain('Rasa Vilkas')
    const { items: mails } = (await us.administrator('GET', 'messages')).body
    expect(mails.some((mail: Json) => mail.class === 'account' && mail.person.name === 'Rasa Vilkas')).toBe(true)
    expect(api.planned).toContain(body.warehouse.id)
  })

  it('take “don’t know” everywhere, as the stricter', async () => {
    const unknown = {
      ...ANSWERS,
      name: 'West hall',
      place: '',
      machineCount: 3,
      supply: 'dont_know',
      heater: 'dont_know',
      first: null,
      second: null,
    }
    const { status, body } = await us.manager('POST', 'beginnings', unknown)
    expect([status, body.first, body.second, body.machineIds.length]).toEqual([201, null, null, 3])
    const machine = (await us.manager('GET', `machines/${body.machineIds[0]}`)).body
    expect(machine.labelCode).toBe('D-013')
    expect(machine.machineType).toMatchObject({ supply: 'wired_in', heater: true })
    expect(machine.notices).toEqual([expect.stringContaining('plug or is wired in'), expect.stringContaining('has a heater')])
    // One tap says it; the sheet's cautions and the product's own plan follow.
    const type = `machine-types/${machine.machineType.id}`
    const before = (await us.manager('GET', type)).body
    const said = (await us.manager('PATCH', type, { supply: 'cord_and_plug' })).body
    expect([before.assumed, said.assumed, said.currentPlanVersion]).toEqual([
      ['supply', 'heater'],
      ['heater'],
      before.currentPlanVersion + 1,
    ])
    expect((await us.manager('GET', `machines/${body.machineIds[0]}`)).body.notices).toHaveLength(1)
    const none = await us.manager('POST', 'beginnings', { ...unknown, name: 'No hall', machineCount: null })
    expect([none.status, none.body.machineIds]).toEqual([201, []])
  })

  it('leave nothing behind where one of them is refused', async () => {
    const before = (await us.manager('GET', 'warehouses')).body.items.length
    const same = { personId: us.people.manager }
    const twice = await us.manager('POST', 'beginnings', { ...ANSWERS, name: 'Half hall', first: same, second: same })
    expect(twice).toMatchObject({ status: 422, body: { code: 'ONE_PERSON_TWICE' } })
    const stranger = await us.manager('POST', 'beginnings', { ...ANSWERS, name: 'Half hall', first: { personId: newId() }, second: null })
    expect(stranger).toMatchObject({ status: 422, body: { code: 'UNKNOWN_PERSON' } })
    const made = { name: 'Somebody', email: 'somebody@east.example' }
    expect(await us.manager('POST', 'beginnings', { ...ANSWERS, name: 'Half hall', first: made, second: null })).toMatchObject({
      status: 403,
    })
    const there = { name: 'Again', email: 'RASA@east.example' }
    const again = await us.administrator('POST', 'beginnings', { ...ANSWERS, name: 'Half hall', first: there, second: null })
    expect(again.body).toMatchObject({ code: 'ALREADY_THERE' })
    expect((await us.manager('GET', 'warehouses')).body.items).toHaveLength(before)
  })

  it('count on from each other when two register at once', async () => {
    const at = (name: string) => us.manager('POST', 'beginnings', { ...ANSWERS, name, machineCount: 5, first: null, second: null })
    const both = await Promise.all([at('Twin hall 1'), at('Twin hall 2')])
    expect(both.map(({ status }) => status)).toEqual([201, 201])
    expect(new Set(both.flatMap(({ body }) => body.machineIds)).size).toBe(10)
  })
})

describe('scanned where it stands', () => {
  const stand = (code: string, stationName: string) => us.technician('POST', `machine-labels/${code}/standing`, { stationName })

  it('fills in a station that was not known, by code or label, and nothing falls due by it', async () => {
    const machine = { serialNumber: 'T1', labelCode: 'T-1', machineTypeId: us.machineTypeId, placement: { warehouseId: us.north } }
    const { id } = (await us.manager('POST', 'machines', machine)).body
    await us.manager('POST', 'labels', { machineIds: [id] })
    const [label] = await ours<{ token: string }>('SELECT token FROM machine_label WHERE machine_id = $1', id)
    const { status, body } = await stand(label?.token.toLowerCase() ?? '', 'Z09')
    expect([status, body.station.name, body.placements.length]).toEqual([200, 'Z09', 1])
    const twice = await stand('T-1', 'z09')
    expect([twice.body.station.id, twice.body.placements.length]).toEqual([body.station.id, 1])
    const situations = 'SELECT kind FROM situation WHERE machine_id = $1'
    expect(await ours(situations, id)).toEqual([])
    // Somewhere else is a move, with its history.
    const moved = await stand('T-1', 'Z10')
    expect([moved.body.station.name, moved.body.placements.length]).toEqual(['Z10', 2])
    expect(await ours(situations, id)).toEqual([{ kind: 'moved' }])
    const order = (await us.manager('GET', `stations?warehouseId=${us.north}`)).body.items
    const walk = (name: string): number => order.find((station: Json) => station.name === name).walkingOrder
    expect(walk('Z10')).toBe(walk('Z09') + 1)
  })

  it('makes one station where two phones name the same new one at once, and knows no machine of a warehouse not served', async () => {
    const all = await Promise.all(Array.from({ length: 4 }, () => stand('N-01', 'Y01')))
    expect(new Set(all.map(({ body }) => body.station.id)).size).toBe(1)
    const far = (await us.manager('GET', `machines/${us.farMachineId}`)).body
    expect((await stand(far.labelCode, 'Y01')).status).toBe(404)
  })
})

describe('a test mail', () => {
  it('goes to both people once a minute, and says what became of it', async () => {
    const hall = (
      await us.administrator('POST', 'beginnings', {
        ...ANSWERS,
        name: 'Mail hall',
        machineCount: null,
        first: { personId: us.people.manager },
        second: { personId: us.people.technician },
      })
    ).body.warehouse.id
    const sent = await us.manager('POST', `warehouses/${hall}/test-mails`)
    expect([sent.status, sent.body.items.map((mail: Json) => mail.state)]).toEqual([201, ['pending', 'pending']])
    expect(await us.manager('POST', `warehouses/${hall}/test-mails`)).toMatchObject({ status: 409, body: { code: 'JUST_SENT' } })
    expect((await us.manager('GET', `warehouses/${hall}/beginning`)).body.testMails).toHaveLength(2)
    const nobody = (
      await us.manager('POST', 'beginnings', { ...ANSWERS, name: 'Nobody hall', machineCount: null, first: null, second: null })
    ).body.warehouse.id
    expect(await us.manager('POST', `warehouses/${nobody}/test-mails`)).toMatchObject({ status: 422, body: { code: 'NOBODY_NAMED' } })
  })
})

describe('the product’s own plan', () => {
  it('holds today wherever it is still yesterday', async () => {
    await us.administrator('POST', 'beginnings', { ...ANSWERS, name: 'West hall', zone: 'Pacific/Pago_Pago', first: null, second: null })
    // 08:00 UTC on 4 May is 21:00 on the 3rd in Pago Pago.
    const plans = await ours<{ held: boolean }>(
      `SELECT p.valid_from <= DATE '2026-05-03' AS held FROM service_plan p JOIN machine m USING (organisation_id, machine_type_id)
       JOIN placement l ON l.machine_id = m.id JOIN warehouse w ON w.id = l.warehouse_id WHERE w.name = $1`,
      'West hall',
    )
    expect(plans.length).toBeGreaterThan(0)
    expect(plans.every(({ held }) => held)).toBe(true)
  })
})
