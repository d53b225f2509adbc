import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { ROUND_ACKNOWLEDGEMENT, ROUND_LINK_HEADER } from '@tapewarden/shared'
import { type Ask, type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
const month = '2026-05'

async function openMonthly(machineId: string): Promise<void> {
  await api.database.withOrganisationSql(us.organisationId, (scope) =>
    scope.run(
      `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, sequence, kind, state, opened_on, nominal_on, window_from, window_to,
         due_on, governing_trigger, created_at)
       SELECT $1, $2, $3, pt.service_task_id, pt.id, $4, 1, 'monthly', 'open', '2026-05-01', '2026-05-29', '2026-05-01', '2026-05-31', '2026-05-29', 'calendar_month', now()
       FROM plan_task pt JOIN service_task k ON k.organisation_id = pt.organisation_id AND k.id = pt.service_task_id WHERE pt.organisation_id = $1 AND k.key = 'oil_blade_felt'`,
      [us.organisationId, newId(), machineId, us.north],
    ),
  )
}
const answer = (machineId: string, more: object = {}) => ({
  warehouseId: us.north,
  month,
  entryId: newId(),
  machineId,
  outcome: 'done',
  madeAt: '2026-05-04T07:00:00Z',
  ...more,
})
const round = async (ask: Ask): Promise<Json> => (await ask('GET', `rounds?warehouseId=${us.north}&month=${month}`)).body
let second: string

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
  const placement = { warehouseId: us.north, fromAt: '2026-01-05T06:00:00Z' }
  second = (await us.manager('POST', 'machines', { serialNumber: 'R2', labelCode: 'R-2', machineTypeId: us.machineTypeId, placement })).body
    .id
  for (const id of [us.machineId, second]) await openMonthly(id)
})
afterAll(() => api.close())

describe('a round', () => {
  it('lists machines in walking order, nothing ticked, with a caution on each line', async () => {
    const body = await round(us.instructed)
    expect(body.lines.map((line: Json) => line.labelCode)).toEqual(['R-2', 'N-01'])
    expect(body.lines.every((line: Json) => line.answer === null && line.mayDo && line.caution.includes('Unplug first'))).toBe(true)
    expect(body).toMatchObject({ openCount: 2, doneCount: 0, acknowledged: null, acknowledgement: ROUND_ACKNOWLEDGEMENT })
  })

  it('asks for the cautions first, once a person', async () => {
    expect((await us.instructed('POST', 'rounds/answers', answer(us.machineId))).body.code).toBe('CAUTIONS_NOT_ACKNOWLEDGED')
    const acknowledgement = { entryId: newId(), warehouseId: us.north, month, statement: ROUND_ACKNOWLEDGEMENT }
    expect((await us.instructed('POST', 'rounds/acknowledgements', acknowledgement)).body.acknowledged).not.toBeNull()
    expect((await round(us.technician)).acknowledged).toBeNull()
  })

  it('takes one answer a machine, once; done outweighs a reason; undone at once by who gave it', async () => {
    const notDone = await us.instructed('POST', 'rounds/answers', answer(us.machineId, { outcome: 'not_done', reason: 'no_oil' }))
    expect(notDone.body).toMatchObject({
      outcome: 'applied',
      line: { answer: { outcome: 'not_done', reason: 'no_oil' }, tasks: [{ state: 'open' }] },
    })
    const done = answer(us.machineId)
    const replies = await Promise.all([1, 2, 3].map(() => us.instructed('POST', 'rounds/answers', done)))
    expect(replies.map((reply) => String(reply.body.outcome)).sort((a, b) => a.localeCompare(b))).toEqual(['already', 'already', 'applied'])
    expect(await round(us.instructed)).toMatchObject({ doneCount: 1, openCount: 1 })
    const again = await us.instructed('POST', 'rounds/answers', answer(us.machineId))
    expect(again.body).toMatchObject({ outcome: 'kept_as_evidence' })
    const records = (await us.manager('GET', `machines/${us.machineId}/service-records`)).body.items
    expect(records.filter((one: Json) => one.settles)).toHaveLength(1)
    expect(records[0]).toMatchObject({ source: 'round', personName: 'instructed', doneOn: '2026-05-04' })
    expect((await us.technician('POST', `rounds/answers/${done.entryId}/undo`)).body.code).toBe('NOT_YOURS')
    const undone = await us.instructed('POST', `rounds/answers/${done.entryId}/undo`)
    expect(undone.body.tasks).toMatchObject([{ state: 'open' }])
    expect((await us.instructed('POST', `rounds/answers/${done.entryId}/undo`)).body.code).toBe('TAKEN_BACK')
    expect(await round(us.instructed)).toMatchObject({ doneCount: 0, openCount: 2 })
  })

  it('refuses what is not on it, another month, and who was not shown', async () => {
    expect((await us.instructed('POST', 'rounds/answers', answer(us.farMachineId))).body.code).toBe('NOT_ON_THE_ROUND')
    expect((await us.instructed('POST', 'rounds/answers', answer(second, { madeAt: '2026-04-30T07:00:00Z' }))).body.code).toBe(
      'NOT_THIS_MONTH',
    )
    expect((await us.instructed('POST', 'rounds/answers', answer(second, { outcome: 'not_done' }))).status).toBe(400)
    const person = (await us.manager('GET', `people/${us.people.instructed}`)).body
    await us.manager('DELETE', `people/${us.people.instructed}/instructions/${person.instructions[0].id}`)
    expect((await us.instructed('POST', 'rounds/answers', answer(second))).body.code).toBe('NOT_INSTRUCTED')
    await us.manager('POST', `people/${us.people.instructed}/instructions`, {
      machineTypeId: us.machineTypeId,
      instructedOn: '2026-01-10',
      instructedBy: 'Mara',
    })
  })
})

describe('a mail link', () => {
  const link = async (personId: string): Promise<string> => {
    const { body } = await us.manager('POST', 'rounds/links', { warehouseId: us.north, month, personId })
    // The end of May in Berlin, UTC+2.
    expect(body.expiresAt).toBe('2026-05-31T22:00:00.000Z')
    return String(body.url).split('#round=')[1] as string
  }
  it('opens one round for one person, and changes nothing by being opened', async () => {
    const headers = { [ROUND_LINK_HEADER]: await link(us.people.instructed) }
    const before = await round(us.manager)
    const opened = await api.anyone('GET', 'linked-round', undefined, headers)
    expect(opened.body).toMatchObject({ month, personName: 'instructed', openCount: 2 })
    expect(await round(us.manager)).toEqual(before)
    const body = { entryId: newId(), machineId: second, outcome: 'done', madeAt: '2026-05-04T07:30:00Z' }
    const done = await api.anyone('POST', 'linked-round/answers', body, headers)
    expect(done.body).toMatchObject({ outcome: 'applied', line: { tasks: [{ state: 'done' }] } })
    const [record] = (await us.manager('GET', `machines/${second}/service-records`)).body.items
    expect(record).toMatchObject({ source: 'mail_link', personName: 'instructed' })
    for (const path of ['me', 'machines', `rounds?warehouseId=${us.north}`, 'warehouses'])
      expect((await api.anyone('GET', path, undefined, headers)).status).toBe(401)
    expect((await api.anyone('POST', `linked-round/answers/${body.entryId}/undo`, undefined, headers)).status).toBe(200)
  })
  it('is no good when forged, ended, or its person is disabled', async () => {
    const token = await link(us.people.technician)
    const ask = (text: string) => api.anyone('GET', 'linked-round', undefined, { [ROUND_LINK_HEADER]: text })
    expect((await ask(token)).status).toBe(200)
    expect((await ask(`${token.slice(0, -2)}AA`)).status).toBe(401)
    await us.administrator('PATCH', `people/${us.people.technician}`, { disabled: true })
    expect((await ask(token)).status).toBe(401)
    await us.administrator('PATCH', `people/${us.people.technician}`, { disabled: false })
    api.clock.set(new Date('2026-05-31T22:00:00Z'))
    expect((await ask(token)).status).toBe(401)
    api.clock.set(new Date('2026-05-04T08:00:00Z'))
  })
})
