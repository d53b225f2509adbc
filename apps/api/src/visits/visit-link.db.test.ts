import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { VISIT_LINK_HEADER } from '@tapewarden/shared'
import { type Json, type Reply, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'
import { smallJpeg } from '../../../../tests/support/jpeg.js'

let api: TestApi
let us: ApiOrganisation
let visit: Json
let inside: Json
let outside: Json
let secret: string

const byLink = (method: 'GET' | 'POST' | 'DELETE', path: string, body?: unknown): Promise<Reply> =>
  api.anyone(method, path, body, { [VISIT_LINK_HEADER]: secret })

async function openOccurrence(key: string, sequence: number): Promise<string> {
  const id = newId()
  await api.database.withOrganisationSql(us.organisationId, (scope) =>
    scope.run(
      `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, sequence, kind, state, opened_on, nominal_on, window_from, window_to,
         hard_limit_on, due_on, late_from, governing_trigger, created_at)
       SELECT $1, $2, $3, pt.service_task_id, pt.id, $4, $6, 'regular', 'open', '2026-05-01', '2026-05-10', '2026-05-01', '2026-05-20', '2026-06-20', '2026-05-10', '2026-05-21', 'calendar', now()
       FROM plan_task pt JOIN service_task k ON k.organisation_id = pt.organisation_id AND k.id = pt.service_task_id WHERE pt.organisation_id = $1 AND k.key = $5`,
      [us.organisationId, id, us.machineId, us.north, key, sequence],
    ),
  )
  return id
}

const order = async (occurrenceId: string): Promise<Json> =>
  (
    await us.manager('POST', 'work-orders', {
      machineId: us.machineId,
      occurrenceIds: [occurrenceId],
      technicianId: us.people.technician,
      issue: true,
    })
  ).body

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
  inside = await order(await openOccurrence('check_chain', 1))
  outside = await order(await openOccurrence('interlock_check', 1))
  visit = (
    await us.manager('POST', 'visits', {
      warehouseId: us.north,
      visitOn: '2026-05-04',
      technicianId: us.people.technician,
      workOrderIds: [inside.id],
    })
  ).body
  const made = await us.manager('POST', `visits/${visit.id}/links`)
  expect(made).toMatchObject({ status: 201, body: { expiresAt: '2026-05-04T22:00:00.000Z' } })
  secret = made.body.url.split('#visit=')[1]
})
afterAll(() => api.close())

describe("a visiting technician's link", () => {
  it('opens its one visit and works its orders, under that name', async () => {
    expect((await byLink('GET', 'me')).body).toMatchObject({ visitId: visit.id, warehouses: [{ id: us.north }] })
    expect((await byLink('GET', `visits/${visit.id}`)).body.workOrders.map(({ id }: Json) => id)).toEqual([inside.id])
    const entry = { kind: 'accept', id: newId(), madeAt: '2026-05-04T07:59:00Z' }
    expect((await byLink('POST', `work-orders/${inside.id}/entries`, entry)).body).toMatchObject({
      outcome: 'applied',
      workOrder: { state: 'accepted' },
    })
    const photo = {
      id: newId(),
      machineId: us.machineId,
      workOrderId: inside.id,
      takenAt: '2026-05-04T07:59:00Z',
      content: smallJpeg().toString('base64'),
    }
    expect((await byLink('POST', 'photos', photo)).status).toBe(201)
    expect((await byLink('GET', `photos/${photo.id}`)).status).toBe(200)
  })

  it('shows no other people’s records', async () => {
    await us.manager('POST', `work-orders/${inside.id}/entries`, {
      kind: 'note',
      id: newId(),
      madeAt: '2026-05-04T08:00:00Z',
      text: 'from the desk',
    })
    const { entries } = (await byLink('GET', `work-orders/${inside.id}`)).body
    expect(entries.map(({ kind }: Json) => kind)).toEqual(['accept'])
  })

  it('opens nothing else: no other order, photo, visit, machine, list, and no route of the desk', async () => {
    const other = await us.technician('POST', 'photos', {
      id: newId(),
      machineId: us.machineId,
      takenAt: '2026-05-04T07:59:00Z',
      content: smallJpeg().toString('base64'),
    })
    for (const [method, path, body] of [
      ['GET', `work-orders/${outside.id}`],
      ['POST', `work-orders/${outside.id}/entries`, { kind: 'accept', id: newId(), madeAt: '2026-05-04T07:59:00Z' }],
      ['GET', `photos/${other.body.id}`],
      ['GET', `photos?machineId=${us.machineId}`],
      ['POST', 'photos', { id: newId(), machineId: us.machineId, takenAt: '2026-05-04T07:59:00Z', content: 'AAAA' }],
      ['GET', `visits/${newId()}`],
      ['GET', 'visits'],
      ['GET', 'work-orders'],
      ['GET', `machines/${us.machineId}`],
      ['GET', 'parts'],
      ['GET', 'people'],
      ['POST', `visits/${visit.id}/links`],
      ['GET', 'audit'],
    ] as const)
      expect([path, (await byLink(method, path, body)).status]).toEqual([path, 403])
  })

  it('is refused when it is forged, when the visit goes to another, and from its night on', async () => {
    const real = secret
    secret = `${real.slice(0, -2)}AA`
    expect((await byLink('GET', 'me')).status).toBe(401)
    secret = real
    await us.manager('PATCH', `visits/${visit.id}`, { technicianId: null })
    expect((await byLink('GET', 'me')).status).toBe(401)
    await us.manager('PATCH', `visits/${visit.id}`, { technicianId: us.people.technician })
    expect((await byLink('GET', 'me')).status).toBe(200)
    api.clock.set(new Date('2026-05-04T21:59:59Z'))
    expect((await byLink('GET', 'me')).status).toBe(200)
    // Midnight in Berlin.
    api.clock.set(new Date('2026-05-04T22:00:00Z'))
    expect((await byLink('GET', 'me')).status).toBe(401)
    expect((await us.manager('POST', `visits/${visit.id}/links`)).body.code).toBe('VISIT_IS_OVER')
  })
})
