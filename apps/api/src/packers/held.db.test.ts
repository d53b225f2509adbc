/** A packer's word on what a technician has opened, or a tag holds. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation, printedToken } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
let token: string
const page = async (): Promise<Json> => (await api.anyone('GET', `labels/${token}`)).body

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
  await us.manager('POST', 'labels', { machineIds: [us.machineId] })
  token = await printedToken(api, us)
})
afterAll(() => api.close())

const enter = (order: Json, entry: object) =>
  us.technician('POST', `work-orders/${order.id}/entries`, { id: newId(), madeAt: '2026-05-04T08:00:00Z', ...entry })
const standingStill = async (): Promise<Json> => (await us.manager('GET', `stoppages?machineId=${us.machineId}&open=true`)).body.items[0]

/** A packer's report, and a technician who has begun on it. */
async function opened(): Promise<Json> {
  await api.anyone('POST', `labels/${token}/reports`, { id: newId(), what: 'jammed' })
  const occurrenceId = newId()
  await api.database.withOrganisationSql(us.organisationId, (scope) =>
    scope.run(
      `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, sequence, kind, state, opened_on, nominal_on, window_from, window_to, hard_limit_on, due_on, late_from,
         governing_trigger, created_at)
       SELECT $1, $2, $3, pt.service_task_id, pt.id, $4, 1, 'regular', 'open', '2026-05-01', '2026-05-10', '2026-04-22', '2026-05-28', '2026-06-24', '2026-05-10', '2026-05-29', 'calendar', now()
       FROM plan_task pt JOIN service_task k ON k.organisation_id = pt.organisation_id AND k.id = pt.service_task_id WHERE pt.organisation_id = $1 AND k.key = 'check_chain'`,
      [us.organisationId, occurrenceId, us.machineId, us.north],
    ),
  )
  const asked = { machineId: us.machineId, occurrenceIds: [occurrenceId], technicianId: us.people.technician, issue: true }
  const { status, body: order } = await us.manager('POST', 'work-orders', asked)
  expect([status, order.detail]).toEqual([201, undefined])
  await enter(order, { kind: 'accept' })
  await enter(order, { kind: 'acknowledge_cautions', statement: order.acknowledgement })
  expect((await enter(order, { kind: 'start' })).body.workOrder.state).toBe('under_way')
  return order
}

describe('‘works again’ by a packer', () => {
  it('keeps its word beside what a technician has in hand, and leaves the end of that to them', async () => {
    const order = await opened()
    const stoppage = await standingStill()
    expect(stoppage).toMatchObject({ planned: false, workBegunAt: expect.any(String), workOrder: { number: order.number } })
    const onSite = { openStoppage: { id: stoppage.id, workOrderId: order.id } }
    expect((await us.technician('GET', 'on-site-machines')).body.items.find(({ id }: Json) => id === us.machineId)).toMatchObject(onSite)
    expect((await us.technician('GET', `machines/${us.machineId}`)).body).toMatchObject(onSite)
    for (const waits of [false, true]) {
      if (waits) await enter(order, { kind: 'wait', waitingFor: 'part' })
      expect((await api.anyone('POST', `labels/${token}/works-again`)).body).toMatchObject({ report: { held: 'worked_on' } })
    }
    const told = (await us.manager('GET', `stoppages/${stoppage.id}`)).body
    expect(told).toMatchObject({ open: true, backInUseAt: null, repairedAt: null })
    const word = '4 May 2026, 10:00: works again, said by a packer, while it was worked on'
    expect(told.note.split('\n').filter((line: string) => line === word)).toHaveLength(1)
    expect((await us.manager('GET', `work-orders/${order.id}`)).body).toMatchObject({ state: 'waiting' })
  })

  it('ends what its technician has given back, and not what is tagged out', async () => {
    const { id } = await standingStill()
    const [order] = (await us.manager('GET', 'work-orders?state=waiting')).body.items
    expect((await enter(order, { kind: 'hand_back', reason: 'not trained for this' })).status).toBe(200)
    expect(await page()).toMatchObject({ report: { what: 'jammed', held: null } })
    const status = (is: string) => us.manager('POST', `machines/${us.machineId}/status`, { status: is, reason: 'cord damaged' })
    await status('tagged_out')
    expect((await api.anyone('POST', `labels/${token}/works-again`)).body).toMatchObject({ report: { held: 'tagged_out' } })
    await status('in_service')
    expect((await api.anyone('POST', `labels/${token}/works-again`)).body).toMatchObject({ report: null })
    expect((await us.manager('GET', `stoppages/${id}`)).body).toMatchObject({
      open: false,
      note: expect.stringContaining('while it was tagged out'),
    })
  })
})
