import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { CAUTION_ACKNOWLEDGEMENTS } from '@tapewarden/shared'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
let sheet: Json
const AT = '2026-05-04T07:30:00Z'

async function openOccurrence(): Promise<string> {
  const id = newId()
  await api.database.withOrganisationSql(us.organisationId, (scope) =>
    scope.run(
      `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, sequence, kind, state, opened_on, nominal_on, window_from, window_to,
         hard_limit_on, due_on, late_from, governing_trigger, created_at)
       SELECT $1, $2, $3, pt.service_task_id, pt.id, $4, 1, 'regular', 'open', '2026-05-01', '2026-05-10', '2026-05-01', '2026-05-20', '2026-06-20', '2026-05-10', '2026-05-21', 'calendar', now()
       FROM plan_task pt JOIN service_task k ON k.organisation_id = pt.organisation_id AND k.id = pt.service_task_id WHERE pt.organisation_id = $1 AND k.key = 'measure_motor_brushes'`,
      [us.organisationId, id, us.machineId, us.north],
    ),
  )
  return id
}

const enter = (ask: ApiOrganisation['technician'], entry: object, id = newId()) =>
  ask('POST', `work-orders/${sheet.id}/entries`, { id, madeAt: AT, ...entry })
const measured = (value: number) => ({ kind: 'measure', taskId: sheet.tasks[0].id, measurementKey: 'motor_brush', value, unit: 'mm' })
const settle = (entryId: string, counts: 'first' | 'second', note = '') =>
  us.manager('POST', `work-orders/${sheet.id}/conflicts/${entryId}/settling`, { counts, note })

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
  sheet = (
    await us.manager('POST', 'work-orders', {
      machineId: us.machineId,
      occurrenceIds: [await openOccurrence()],
      technicianId: us.people.technician,
      issue: true,
    })
  ).body
  const steps = [
    { kind: 'accept' },
    { kind: 'acknowledge_cautions', statement: CAUTION_ACKNOWLEDGEMENTS.plug },
    { kind: 'start' },
    { kind: 'answer_step', taskId: sheet.tasks[0].id, stepKey: 'open', answer: true },
    measured(14),
    { kind: 'task_done', taskId: sheet.tasks[0].id },
  ]
  for (const step of steps) expect((await enter(us.technician, step)).body).toMatchObject({ outcome: 'applied' })
})
afterAll(() => api.close())

describe('two values of one thing', () => {
  it('are shown with both sides until a person settles it, and the first counts until then', async () => {
    const id = newId()
    expect((await enter(us.manager, measured(11), id)).body).toMatchObject({ outcome: 'conflict' })
    expect((await us.technician('GET', 'work-conflicts')).body.items).toMatchObject([
      {
        entryId: id,
        workOrder: { id: sheet.id },
        labelCode: 'N-01',
        what: 'Shorter brush',
        first: { valueMm: 14 },
        second: { valueMm: 11 },
      },
    ])
    expect((await us.manager('GET', 'this-week')).body.waiting.conflicts).toBe(1)
    expect((await us.technician('POST', `work-orders/${sheet.id}/conflicts/${id}/settling`, { counts: 'first' })).status).toBe(403)
    const settled = (await settle(id, 'first', 'measured again by hand')).body
    expect(settled.entries.at(-1).settled).toMatchObject({ counts: 'first', note: 'measured again by hand', byName: expect.any(String) })
    expect(settled.tasks[0].measurements[0].given.map(({ valueMm, state }: Json) => [valueMm, state])).toEqual([[14, 'counted']])
    expect((await us.manager('GET', 'work-conflicts')).body.items).toEqual([])
    expect(await settle(id, 'second')).toMatchObject({ status: 409, body: { code: 'SETTLED' } })
  })

  it('let the second count: the first is kept, set aside; a value below the limit asks for a new part at once', async () => {
    const id = newId()
    await enter(us.manager, measured(6), id)
    const settled = (await settle(id, 'second')).body
    expect(settled.tasks[0].measurements[0].given.map(({ valueMm, state }: Json) => [valueMm, state])).toEqual(
      expect.arrayContaining([
        [14, 'set_aside'],
        [6, 'counted'],
      ]),
    )
    const findings = (await us.manager('GET', `machines/${us.machineId}/findings`)).body.items
    expect(findings[0]).toMatchObject({ withinDays: 0, dueOn: '2026-05-04', taskName: 'Replace both motor brushes' })
    const audit = (await us.manager('GET', `audit?subjectId=${sheet.id}`)).body.items
    expect(audit.filter(({ action }: Json) => action === 'settle conflict')).toHaveLength(2)
  })

  it('are told of in the units of whoever typed the second, and taken exactly', async () => {
    await us.manager('PATCH', 'me', { units: 'us' })
    try {
      const id = newId()
      const { body } = await enter(us.manager, { ...measured(0.375), unit: 'in', enteredText: '3/8' }, id)
      // 6 / 25.4 = 0.236 in.
      const reason = '0.236 in was measured before, now 0.375 in: somebody must say which counts.'
      expect(body).toMatchObject({ outcome: 'conflict', reason })
      expect((await us.technician('GET', 'work-conflicts')).body.items).toMatchObject([{ entryId: id, second: { valueMm: 9.525 } }])
      await settle(id, 'first')
    } finally {
      await us.manager('PATCH', 'me', { units: 'si' })
    }
  })

  it('that are none are not there to be settled', async () => {
    expect((await settle(newId(), 'first')).status).toBe(404)
  })

  it('are listed page by page, each once, the oldest first', async () => {
    const ids = [newId(), newId(), newId()]
    for (const [index, id] of ids.entries()) expect((await enter(us.manager, measured(8 + index), id)).body.outcome).toBe('conflict')
    const seen: string[] = []
    for (let next = ''; seen.length < 10;) {
      const { body } = await us.manager('GET', `work-conflicts?limit=2${next}`)
      expect(body.items.length).toBeLessThanOrEqual(2)
      seen.push(...body.items.map(({ entryId }: Json) => entryId))
      if (body.nextCursor === null) break
      next = `&cursor=${body.nextCursor}`
    }
    expect(seen).toEqual(ids)
    const wrong = Buffer.from(JSON.stringify(['yesterday', ids[0]])).toString('base64url')
    expect(await us.manager('GET', `work-conflicts?cursor=${wrong}`)).toMatchObject({ status: 422, body: { code: 'INVALID_CURSOR' } })
  })
})
