/** What a technician found is read by somebody: it waits until a task takes it or a person says what was done. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
})
afterAll(() => api.close())

const report = async (body: Json, machineId = us.machineId): Promise<Json> => {
  const reply = await us.manager('POST', `machines/${machineId}/findings`, body)
  expect(reply.status).toBe(201)
  return reply.body
}
const waiting = async (query = ''): Promise<Json[]> => (await us.manager('GET', `findings${query}`)).body.items
const counted = async (): Promise<number> => (await us.manager('GET', 'this-week')).body.waiting.findings

describe('what was found and no task answers', () => {
  it('waits, the grave first, then the oldest, a page at a time, and is counted in the week', async () => {
    const made: Json[] = []
    for (const [text, safety] of [
      ['cover scratched', false],
      ['cord frayed', true],
      ['key 7 sticks', false],
    ] as const)
      made.push(await report({ text, safety }))
    await report({ text: 'chain slack', taskKey: 'check_chain' })
    const far = await report({ text: 'lamp dark' }, us.farMachineId)
    const all = await waiting()
    expect(all.map(({ text }) => text)).toEqual(['cord frayed', 'cover scratched', 'key 7 sticks', 'lamp dark'])
    expect(all[0]).toMatchObject({
      foundOn: '2026-05-04',
      safety: true,
      foundByName: expect.any(String),
      machine: { id: us.machineId, labelCode: 'N-01' },
      warehouse: { id: us.north, name: 'North' },
    })
    expect((await waiting(`?warehouseId=${us.south}`)).map(({ id }) => id)).toEqual([far.id])
    const first = (await us.manager('GET', 'findings?limit=3')).body
    const rest = (await us.manager('GET', `findings?limit=3&cursor=${first.nextCursor}`)).body
    expect([...first.items, ...rest.items]).toEqual(all)
    expect(await counted()).toBe(4)
  })

  it('is dealt with in words, under a name, once', async () => {
    const { id } = await report({ text: 'guard loose' })
    const before = await counted()
    const empty = await us.manager('POST', `findings/${id}/settling`, { note: ' ' })
    expect(empty).toMatchObject({ status: 400, body: { errors: [{ pointer: '/note' }] } })
    const settled = await us.manager('POST', `findings/${id}/settling`, { note: 'Tightened by the fitter.' })
    expect(settled.body).toMatchObject({
      settledOn: '2026-05-04',
      settledNote: 'Tightened by the fitter.',
      settledByName: expect.any(String),
    })
    expect(await counted()).toBe(before - 1)
    expect((await waiting()).map((one) => one.id)).not.toContain(id)
    const again = await us.manager('POST', `findings/${id}/settling`, { note: 'Again.' })
    expect(again).toMatchObject({ status: 409, body: { code: 'SETTLED_ALREADY' } })
    const machine = (await us.manager('GET', `machines/${us.machineId}/findings`)).body.items
    expect(machine.find((one: Json) => one.id === id)).toMatchObject({ settledNote: 'Tightened by the fitter.' })
    const audit = (await us.manager('GET', `audit?subjectKind=machine&subjectId=${us.machineId}`)).body.items
    expect(audit[0]).toMatchObject({ action: 'settle finding', before: { settledOn: null }, after: { settledOn: '2026-05-04' } })
  })

  it('is given to a task of its machine’s type, which then falls due, and to no other', async () => {
    const { id } = await report({ text: 'chain rattles' })
    const unknown = await us.manager('POST', `findings/${id}/task`, { serviceTaskId: newId() })
    expect(unknown).toMatchObject({ status: 422, body: { code: 'UNKNOWN_TASK', errors: [{ pointer: '/serviceTaskId' }] } })
    const tasks = await api.database.withOrganisationSql(us.organisationId, (scope) =>
      scope.rows<{ id: string }>(`SELECT id FROM service_task WHERE organisation_id = $1 AND key = 'check_chain'`, [us.organisationId]),
    )
    const planned = api.planned.length
    const given = await us.manager('POST', `findings/${id}/task`, { serviceTaskId: tasks[0]?.id, withinDays: 3 })
    expect(given.body).toMatchObject({ taskName: 'Check the chain tension', dueOn: '2026-05-07', settledOn: null })
    expect(api.planned.length).toBeGreaterThan(planned)
    expect((await waiting()).map((one) => one.id)).not.toContain(id)
  })

  it('is the desk’s, and as unknown as nothing at a machine that one does not serve', async () => {
    const { id } = await report({ text: 'dent' }, us.farMachineId)
    expect((await us.technician('GET', 'findings')).status).toBe(403)
    expect((await us.technician('POST', `findings/${id}/settling`, { note: 'x' })).status).toBe(403)
    expect((await us.manager('POST', `findings/${newId()}/settling`, { note: 'x' })).status).toBe(404)
  })
})
