/** An order that goes from one technician to another, from the desk's change to the mails of both. */
import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import type { WorkerParts } from '../../apps/worker/src/parts.js'
import { compose } from '../../apps/worker/src/composing/compose-messages.js'
import { type Json, startTestApi, type TestApi } from '../support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../support/api-organisation.js'
import { RecordedQueue } from '../support/worker-parts.js'

/** A Monday, ten in the morning in Berlin. */
const NOW = '2026-05-04T08:00:00Z'
let api: TestApi
let us: ApiOrganisation
let noor: string
let order: Json
let made = 0

const sql = <Row extends Record<string, unknown>>(text: string, values: string[] = []) =>
  api.database.withOrganisationSql(us.organisationId, (scope) => scope.rows<Row>(text, values))
const parts = (): WorkerParts =>
  ({ database: api.database, clock: api.clock, queue: new RecordedQueue(), crash: () => undefined }) as unknown as WorkerParts
const run = () => compose(parts(), us.organisationId, us.north)
/** Messages of the day by person, and how many orders each tells of. */
const told = () =>
  sql<{ name: string; orders: number }>(
    `SELECT p.name, (SELECT count(*)::int FROM work_order w WHERE w.told_message_id = m.id) AS orders
     FROM message m JOIN person p ON p.id = m.person_id WHERE m.class = 'digest' ORDER BY p.name`,
  )

beforeAll(async () => {
  api = await startTestApi(NOW)
})
beforeEach(async () => {
  us = await makeOrganisation(api, `n${++made}`)
  const person = { name: 'Noor', role: 'technician', email: `noor@n${made}.example`, warehouseIds: [us.north] }
  noor = (await us.administrator('POST', 'people', person)).body.id
  await sql(`UPDATE warehouse SET planned_on = '2026-05-04'`)
  const occurrenceId = newId()
  await sql(
    `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, sequence, kind, state, opened_on, nominal_on, window_from, window_to, due_on, governing_trigger, created_at)
     SELECT $1, $2, $3, pt.service_task_id, pt.id, $4, (SELECT count(*) + 1 FROM occurrence), 'regular', 'open', '2026-05-01', '2026-05-10', '2026-05-10', '2026-05-10', '2026-05-10', 'calendar', now()
     FROM plan_task pt JOIN service_task k ON k.organisation_id = pt.organisation_id AND k.id = pt.service_task_id WHERE pt.organisation_id = $1 AND k.key = 'check_chain'`,
    [us.organisationId, occurrenceId, us.machineId, us.north],
  )
  const body = { machineId: us.machineId, occurrenceIds: [occurrenceId], technicianId: us.people.technician, issue: true }
  order = (await us.manager('POST', 'work-orders', body)).body
})
afterAll(() => api.close())

const handOver = (technicianId: string) => us.manager('PATCH', `work-orders/${order.id}`, { technicianId })

describe('handing an order over', () => {
  it('tells the new person of it in one message, and leaves the old one what was said', async () => {
    await run()
    expect(await told()).toEqual([{ name: 'technician', orders: 1 }])
    await sql(`UPDATE message SET state = 'sent', attempts = 1`)
    expect((await handOver(noor)).body).toMatchObject({ state: 'issued', technician: { name: 'Noor' } })
    await Promise.all([run(), run()])
    await run()
    expect(await told()).toEqual([
      { name: 'Noor', orders: 1 },
      { name: 'technician', orders: 0 },
    ])
  })

  it('tells the new person also where the old one had accepted it or was at it', async () => {
    await run()
    await sql(`UPDATE message SET state = 'sent', attempts = 1`)
    await us.technician('POST', `work-orders/${order.id}/entries`, { kind: 'accept', id: newId(), madeAt: NOW })
    await handOver(noor)
    await run()
    await run()
    expect(await told()).toEqual([
      { name: 'Noor', orders: 1 },
      { name: 'technician', orders: 0 },
    ])
  })

  it('by a visit of another technician tells that one', async () => {
    await us.technician('POST', `work-orders/${order.id}/entries`, { kind: 'accept', id: newId(), madeAt: NOW })
    const visit = { warehouseId: us.north, visitOn: '2026-05-06', technicianId: noor, workOrderIds: [order.id] }
    expect((await us.manager('POST', 'visits', visit)).body.workOrders).toMatchObject([{ state: 'issued', technician: { name: 'Noor' } }])
    await run()
    await run()
    expect(await told()).toEqual([{ name: 'Noor', orders: 1 }])
  })

  it('changing day or note alone tells nobody again', async () => {
    await run()
    await us.manager('PATCH', `work-orders/${order.id}`, {
      plannedOn: '2026-05-07',
      note: 'Key at the gate.',
      technicianId: us.people.technician,
    })
    expect(await run()).toMatchObject({ messageIds: [] })
    expect(await told()).toEqual([{ name: 'technician', orders: 1 }])
  })
})
