import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
const patch = (id: string, body: object) => us.administrator('PATCH', `people/${id}`, body)
const personOf = async (id: string): Promise<Json> => (await us.administrator('GET', `people/${id}`)).body
const add = async (name: string, more: object = {}): Promise<Json> =>
  (await us.administrator('POST', 'people', { name, role: 'technician', email: `${name}@north.example`, ...more })).body

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
})
afterAll(() => api.close())

describe('a person who is changed', () => {
  it('has all of it changed at once, with before and after in the history, and dates follow where they serve', async () => {
    const { id, version } = await add('typo', { warehouseIds: [us.north] })
    api.planned.length = 0
    const body = {
      name: 'Tyla',
      email: 'tyla@north.example',
      role: 'manager',
      electricallyQualified: true,
      warehouseIds: [us.south],
      version,
    }
    expect((await patch(id, body)).body).toMatchObject({ ...body, version: version + 1 })
    expect(new Set(api.planned)).toEqual(new Set([us.north, us.south]))
    const [entry] = (await us.manager('GET', `audit?subjectId=${id}&limit=1`)).body.items
    expect(entry).toMatchObject({ action: 'change', before: { name: 'typo' }, after: { name: 'Tyla' } })
    expect((await us.manager('PATCH', `people/${id}`, { name: 'x' })).body.code).toBe('ROLE_NOT_ALLOWED')
  })

  it('meanwhile by another is a conflict that says what to do, and nothing of it is kept', async () => {
    const { id, version } = await add('between')
    await patch(id, { name: 'Between the two' })
    expect(await patch(id, { name: 'Too late', version })).toMatchObject({ status: 409, body: { code: 'CHANGED_MEANWHILE' } })
    expect(await personOf(id)).toMatchObject({ name: 'Between the two', version: version + 1 })
  })

  it('cannot take an address that somebody has, nor end the last administrator', async () => {
    const { id } = await add('second')
    expect(await patch(id, { email: 'Manager@north.example' })).toMatchObject({
      status: 409,
      body: { detail: 'Somebody has this mail address already.' },
    })
    expect((await patch(us.people.administrator, { role: 'technician' })).body.code).toBe('LAST_ADMINISTRATOR')
    await patch(us.people.manager, { role: 'administrator' })
    expect((await patch(us.people.manager, { role: 'manager' })).status).toBe(200)
  })

  it('keeps the address and the warehouse whose reminders go to them', async () => {
    const { id } = await add('named', { warehouseIds: [us.north, us.south] })
    await us.manager('PATCH', `warehouses/${us.south}`, { secondPersonId: id })
    const without = await patch(id, { email: null })
    expect(without).toMatchObject({ status: 422, body: { code: 'NAMED_FOR_REMINDERS', errors: [{ pointer: '/email' }] } })
    expect(without.body.detail).toBe(
      'Reminders of South go to named, and need an address. Name somebody else there first, in Set-up under Who is told.',
    )
    expect((await patch(id, { warehouseIds: [us.north] })).body).toMatchObject({
      code: 'NAMED_FOR_REMINDERS',
      errors: [{ pointer: '/warehouseIds' }],
    })
    expect((await personOf(id)).warehouseIds).toHaveLength(2)
    expect((await patch(id, { warehouseIds: [us.south] })).status).toBe(200)
    await us.manager('PATCH', `warehouses/${us.south}`, { secondPersonId: null })
    expect((await patch(id, { warehouseIds: [], email: null })).body).toMatchObject({ email: null, warehouseIds: [] })
  })

  it('keeps the way to work that they have not done', async () => {
    const { id } = await add('busy', { warehouseIds: [us.north] })
    const occurrenceId = await openOccurrence()
    const order = await us.manager('POST', 'work-orders', {
      machineId: us.machineId,
      occurrenceIds: [occurrenceId],
      technicianId: id,
      issue: true,
    })
    expect(order.status).toBe(201)
    const refused = await patch(id, { warehouseIds: [us.south] })
    expect(refused.body).toMatchObject({ code: 'HAS_OPEN_ORDERS', errors: [{ pointer: '/warehouseIds' }] })
    expect(refused.body.detail).toContain('busy has work orders that are not done: 1 at North.')
    expect((await patch(id, { role: 'instructed' })).body).toMatchObject({ code: 'HAS_OPEN_ORDERS', errors: [{ pointer: '/role' }] })
    expect((await patch(id, { role: 'manager', warehouseIds: [] })).status).toBe(200)
    await us.manager('POST', `work-orders/${order.body.id}/cancellation`, { reason: 'not needed' })
    expect((await patch(id, { role: 'instructed' })).status).toBe(200)
  })

  it('whose address was mistyped: a link that went there opens nothing any more', async () => {
    const { id } = await add('wrng')
    expect((await us.administrator('POST', `people/${id}/invitations`)).status).toBe(201)
    const open = async (): Promise<number> => {
      const rows = await api.database.withOrganisationSql(us.organisationId, (scope) =>
        scope.rows<{ id: string }>(`SELECT id FROM account_link WHERE organisation_id = $1 AND person_id = $2 AND used_at IS NULL`, [
          us.organisationId,
          id,
        ]),
      )
      return rows.length
    }
    await patch(id, { name: 'Wrong' })
    expect(await open()).toBe(1)
    await patch(id, { email: 'wrong@north.example' })
    expect(await open()).toBe(0)
  })
})

describe('what was written down about a person', () => {
  it('is taken back: an absence, an instruction', async () => {
    const { id } = await add('noted')
    await us.manager('POST', `people/${id}/absences`, { fromDate: '2026-06-01', toDate: '2026-06-12' })
    const { body } = await us.manager('POST', `people/${id}/instructions`, {
      machineTypeId: us.machineTypeId,
      instructedOn: '2026-05-01',
      instructedBy: 'Mara',
    })
    const [[absence], [instruction]] = [body.absences, body.instructions]
    expect((await us.manager('DELETE', `people/${id}/absences/${absence.id}`)).body.absences).toEqual([])
    expect((await us.manager('DELETE', `people/${id}/instructions/${instruction.id}`)).body.instructions).toEqual([])
    expect((await us.manager('DELETE', `people/${id}/absences/${absence.id}`)).status).toBe(404)
  })
})

async function openOccurrence(): Promise<string> {
  const id = newId()
  await api.database.withOrganisationSql(us.organisationId, (scope) =>
    scope.run(
      `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, sequence, kind, state, opened_on, nominal_on, window_from, window_to,
         hard_limit_on, due_on, late_from, governing_trigger, created_at)
       SELECT $1, $2, $3, pt.service_task_id, pt.id, $4, 1, 'regular', 'open', '2026-05-01', '2026-05-10', '2026-05-01', '2026-05-20', '2026-06-20', '2026-05-10', '2026-05-21', 'calendar', now()
       FROM plan_task pt JOIN service_task k ON k.organisation_id = pt.organisation_id AND k.id = pt.service_task_id WHERE pt.organisation_id = $1 AND k.key = 'check_chain'`,
      [us.organisationId, id, us.machineId, us.north],
    ),
  )
  return id
}
