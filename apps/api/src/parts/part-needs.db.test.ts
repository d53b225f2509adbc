/** What must be ordered by when: from the dates, the age of parts and the stock, the same on the desk and in the mail. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import type { PartNeed } from '@tapewarden/shared'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
let machines: string[]
let setId: string
let bladeId: string

const sql = (text: string, values: unknown[] = []) =>
  api.database.withOrganisationSql(us.organisationId, (scope) => scope.run(text, [us.organisationId, ...values] as never))

const needsOf = async (query = ''): Promise<PartNeed[]> => (await us.manager('GET', `part-needs?${query}`)).body.items

/** The replacing of a brush set, with its range of days. */
const dated = (machineId: string, early: string, likely: string, late: string) =>
  sql(
    `INSERT INTO forecast (organisation_id, machine_id, service_task_id, plan_task_id, warehouse_id, state, early_on, likely_on, late_on, governing_trigger, computed_on)
     SELECT $1, $2, pt.service_task_id, pt.id, $3, 'dated', $4, $5, $6, 'wear', '2026-05-04' FROM plan_task pt
     JOIN service_task k ON k.organisation_id = $1 AND k.id = pt.service_task_id WHERE pt.organisation_id = $1 AND k.key = 'replace_motor_brushes'
     ON CONFLICT (organisation_id, machine_id, service_task_id) DO UPDATE SET state = 'dated', early_on = $4, likely_on = $5, late_on = $6, warehouse_id = $3, no_later_than = NULL`,
    [machineId, us.north, early, likely, late],
  )

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'needs')
  const counted = { machineTypeId: us.machineTypeId, warehouseId: us.north, count: 6, labelPrefix: 'PN-' }
  machines = (await us.manager('POST', 'machines/counted', counted)).body.machines.map(({ id }: Json) => id)
  const part = { stockCode: 'B-9', componentKey: 'motor_brush_set', fitsMachineTypeIds: [us.machineTypeId] }
  setId = (await us.manager('POST', 'parts', { name: 'Brush set', ...part })).body.id
  bladeId = (await us.manager('POST', 'parts', { ...part, name: 'Blade', stockCode: 'K-1', componentKey: 'blade' })).body.id
})
afterAll(() => api.close())

describe('what the dates ask for', () => {
  it('is nothing where nothing is dated', async () => {
    await sql(`UPDATE forecast SET state = 'no_date', early_on = NULL, likely_on = NULL, late_on = NULL WHERE organisation_id = $1`)
    expect(await needsOf()).toEqual([])
  })

  it('is said with its mean, its safe number and the last day to order, and the machines behind it', async () => {
    await dated(machines[0]!, '2026-06-01', '2026-06-20', '2026-07-15')
    await dated(machines[1]!, '2026-06-10', '2026-07-01', '2026-08-01')
    await dated(machines[2]!, '2027-06-10', '2027-07-01', '2027-08-01')
    const [need, ...more] = await needsOf()
    expect(more).toEqual([])
    expect(need).toMatchObject({
      partId: setId,
      stockCode: 'B-9',
      warehouseName: 'North',
      servicePercent: 95,
      needed: 2,
      missing: 2,
      leadTimeDays: null,
      late: false,
      others: { machines: 0, expected: 0 },
    })
    expect(need!.expected).toBeGreaterThan(1.7)
    expect(need!.expected).toBeLessThan(2)
    expect(need!.machines.map(({ machineId }) => machineId)).toEqual([machines[0], machines[1]])
    expect(need!.machines[0]).toMatchObject({ taskName: 'Replace both motor brushes', likelyOn: '2026-06-20', quantity: 1 })
    // Before the early day of the first there is a chance of one in ten, and the part takes a fortnight.
    expect(need!.orderBy! > '2026-05-04' && need!.orderBy! < '2026-05-18').toBe(true)
    expect(need!.sentence).toMatch(
      /^North: order 2 × Brush set by \d+ May\. About 2 will be needed in the next 90 days; 2 are enough with 95 % certainty\.$/,
    )
  })

  it('takes account of the shelf, of what is on its way, of how long it takes and how sure one wants to be', async () => {
    const put = (stock: object) => us.manager('PUT', `parts/${setId}/stock/${us.north}`, { onHand: 0, leadTimeDays: 10, ...stock })
    await put({})
    const [{ orderBy: shorter }] = (await needsOf()) as [PartNeed]
    await put({ leadTimeDays: 30 })
    const [{ orderBy: longer, leadTimeDays }] = (await needsOf()) as [PartNeed]
    expect(leadTimeDays).toBe(30)
    expect(longer! < shorter!).toBe(true)
    await put({ leadTimeSpreadDays: 6 })
    const [{ orderBy: unsure }] = (await needsOf()) as [PartNeed]
    expect(unsure! < shorter!).toBe(true)
    await put({})
    const [{ orderBy: bold }] = (await needsOf('servicePercent=60')) as [PartNeed]
    expect(bold! > shorter!).toBe(true)
    await put({ onHand: 1, onOrder: 1 })
    expect(await needsOf()).toMatchObject([{ missing: 0, orderBy: null, orderPieces: 0 }])
    await put({})
  })

  it('says why an order is for fewer than are enough', async () => {
    const sentences = async (stock: object): Promise<string> => {
      await us.manager('PUT', `parts/${setId}/stock/${us.north}`, { onHand: 0, leadTimeDays: 10, ...stock })
      return (await needsOf())[0]!.sentence
    }
    await dated(machines[1]!, '2026-07-20', '2026-07-22', '2026-07-24')
    expect(await sentences({})).toMatch(
      /^North: order 1 × Brush set by .* 2 are enough with 95 % certainty\. 1 more can be ordered later\.$/,
    )
    expect(await sentences({ onHand: 1 })).toMatch(/^North: order 1 × .* 2 are enough with 95 % certainty\. 1 is there or on order\.$/)
    await dated(machines[1]!, '2026-06-10', '2026-07-01', '2026-08-01')
    await sentences({})
  })

  it('follows what the warehouse has chosen; a chance out of bounds is refused', async () => {
    expect((await us.manager('PATCH', `warehouses/${us.north}`, { partsServicePercent: 80 })).status).toBe(200)
    expect(await needsOf()).toMatchObject([{ servicePercent: 80 }])
    for (const partsServicePercent of [49, 100, 95.5])
      expect((await us.manager('PATCH', `warehouses/${us.north}`, { partsServicePercent })).status).toBe(400)
    expect((await us.manager('GET', 'part-needs?servicePercent=100')).status).toBe(400)
    await us.manager('PATCH', `warehouses/${us.north}`, { partsServicePercent: 95 })
  })

  it('counts an open task once, whatever its forecast says, and asks nothing for a machine out of service', async () => {
    await sql(
      `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, sequence, kind, state, opened_on, nominal_on, window_from, window_to, due_on, governing_trigger, created_at)
       SELECT $1, $2, $3, pt.service_task_id, pt.id, $4, 1, 'regular', 'open', '2026-05-01', '2026-05-30', '2026-05-22', '2026-06-08', '2026-05-30', 'wear', now()
       FROM plan_task pt JOIN service_task k ON k.organisation_id = $1 AND k.id = pt.service_task_id WHERE pt.organisation_id = $1 AND k.key = 'replace_motor_brushes'`,
      [newId(), machines[0], us.north],
    )
    const [need] = (await needsOf()) as [PartNeed]
    expect(need.machines[0]).toMatchObject({ machineId: machines[0], chance: 1, likelyOn: '2026-05-30' })
    expect(need.machines).toHaveLength(2)
    await sql(`UPDATE machine SET status = 'at_the_bench' WHERE organisation_id = $1 AND id = $2`, [machines[1]])
    expect((await needsOf())[0]!.machines.map(({ machineId }) => machineId)).toEqual([machines[0]])
    await sql(`UPDATE machine SET status = 'in_service' WHERE organisation_id = $1 AND id = $2`, [machines[1]])
  })

  it('says of a component without a part in the books that nothing fits', async () => {
    await us.manager('PATCH', `parts/${setId}`, { fitsMachineTypeIds: [] })
    expect(await needsOf()).toMatchObject([{ partId: null, sentence: expect.stringContaining('No part in the books fits these machines') }])
    await us.manager('PATCH', `parts/${setId}`, { fitsMachineTypeIds: [us.machineTypeId] })
  })

  it('does not ask for a part that is out of the books, and does again when it is put back', async () => {
    const before = await needsOf()
    await us.manager('PATCH', `parts/${setId}`, { inBooks: false })
    expect((await needsOf()).map(({ partId }) => partId)).not.toContain(setId)
    await us.manager('PATCH', `parts/${setId}`, { inBooks: true })
    expect(before.map(({ partId }) => partId)).toContain(setId)
    expect(await needsOf()).toEqual(before)
  })

  it('shows each person the warehouses they serve', async () => {
    expect(await needsOf(`warehouseId=${us.south}`)).toEqual([])
    expect((await us.manager('GET', `part-needs?warehouseId=${newId()}`)).body.items ?? []).toEqual([])
  })
})

describe('what the age of parts asks for', () => {
  it('is a share of a blade for each, by the life that the newest pass knew', async () => {
    const life = { blade: { shape: 2.934, scaleYears: 13.76, logCovariance: [[0.2, 0], [0, 0.04]], removals: 0, failures: 0, shapeLower95: null } } // prettier-ignore
    await sql(
      `INSERT INTO planning_chunk (organisation_id, warehouse_id, planned_for, evidence_version, position, machine_ids, created_at, life)
       VALUES ($1, $2, '2026-05-04', 1000000, 0, '{}', now(), $3)`,
      [us.north, JSON.stringify(life)],
    )
    const blades = async () => (await needsOf()).find(({ partId }) => partId === bladeId)
    const young = await blades()
    expect(young!.machines.length).toBeGreaterThanOrEqual(6)
    expect(young!.machines.every(({ taskName, chance }) => taskName === null && chance > 0 && chance < 0.1)).toBe(true)
    await sql(
      `UPDATE component c SET new_on = '2008-01-01' FROM component_type t WHERE c.organisation_id = $1 AND t.organisation_id = $1 AND t.id = c.component_type_id AND t.key = 'blade'`,
    )
    expect((await blades())!.expected).toBeGreaterThan(young!.expected * 2)
  })
})

describe('how long a blade will hold', () => {
  const blade = async () =>
    (await us.manager('GET', `machines/${machines[0]}/components`)).body.items.find(
      ({ componentType }: Json) => componentType.key === 'blade',
    )

  it('is said on its machine with 10, 50 and 90 %, by the life that the newest pass knew', async () => {
    await sql(
      `UPDATE component c SET new_on = '2020-05-04' FROM component_type t WHERE c.organisation_id = $1 AND t.organisation_id = $1 AND t.id = c.component_type_id AND t.key = 'blade'`,
    )
    const { life } = await blade()
    expect(life.remaining).toMatchObject({ livedYears: 6 })
    expect(life.remaining.earlyYears).toBeLessThan(life.remaining.likelyYears)
    expect(life.sentence).toContain('It has been in for 6 years.')
  })

  it('counts strips where its type does: those of the ledger since it was fitted, in years of the type’s usual use', async () => {
    await us.manager('PATCH', `machine-types/${us.machineTypeId}`, { bladeLifeUnit: 'strips', usualStripsPerDay: 400 })
    await sql(
      `UPDATE component_placement cp SET from_date = '2026-01-31' FROM component c JOIN component_type t ON t.organisation_id = c.organisation_id AND t.id = c.component_type_id
       WHERE cp.organisation_id = $1 AND c.organisation_id = $1 AND c.id = cp.component_id AND t.key = 'blade' AND cp.machine_id = $2`,
      [machines[0]],
    )
    // 150 000 strips of 400 × 250 a year. The ledger begins on the day after it was fitted, with 1 000 on that day.
    await sql(
      `INSERT INTO ledger_day (organisation_id, machine_id, day, warehouse_id, strips, metres, motor_minutes, strips_total, kind, relative_error)
       VALUES ($1, $2, '2026-02-01', $3, 1000, 1, 1, 1000, 'counter', 0), ($1, $2, '2026-04-30', $3, 500, 1, 1, 150000, 'counter', 0)`,
      [machines[0], us.north],
    )
    const { life } = await blade()
    expect(life.remaining).toMatchObject({ livedYears: 1.5 })
    expect(life.sentence).toContain('It has done 1.5 years of its type’s usual use.')
    expect((await us.manager('GET', `review/life-curve?componentKey=blade`)).status).toBe(200)
  })

  it('cannot be said of one of unknown age, nor of one that is out', async () => {
    await sql(
      `UPDATE component c SET new_on = NULL FROM component_type t WHERE c.organisation_id = $1 AND t.organisation_id = $1 AND t.id = c.component_type_id AND t.key = 'blade'`,
    )
    const { life } = await blade()
    expect(life).toMatchObject({ remaining: null, sentence: expect.stringContaining('Nobody knows when it was new') })
  })
})

describe('the books', () => {
  it('refuse the same stock code twice, in words, and keep the first', async () => {
    const again = await us.manager('POST', 'parts', { name: 'Another', stockCode: 'B-9' })
    expect(again.status).toBe(409)
    expect(again.body.detail ?? again.body.title).toMatch(/stock code/i)
    expect((await us.manager('GET', `parts/${setId}`)).body.name).toBe('Brush set')
  })
})
