import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { runPlanningPass } from '@tapewarden/persistence'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
let chainId: string
const preview = (closure: object) => us.manager('POST', `warehouses/${us.north}/closure-preview`, closure)

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
  // Six months from 10 November 2025 is 10 May 2026, a Sunday: due on the Friday before it, and open by now.
  const made = await us.manager('POST', 'machines', {
    serialNumber: 'S-chain',
    labelCode: 'CHAIN',
    machineTypeId: us.machineTypeId,
    commissionedOn: '2025-01-10',
    placement: { warehouseId: us.north },
    lastDone: [{ taskKey: 'check_chain', doneOn: '2025-11-10' }],
  })
  chainId = made.body.id
  await pass()
}, 120_000)
afterAll(() => api.close())

const pass = () =>
  runPlanningPass(api.database, {
    organisationId: us.organisationId,
    warehouseId: us.north,
    today: '2026-05-04',
    now: new Date('2026-05-04T08:00:00Z'),
  })
const dueOn = async (): Promise<string | undefined> => {
  const [open] = await api.database.withOrganisationSql(us.organisationId, (scope) =>
    scope.rows<{ dueOn: string }>(
      `SELECT o.due_on AS "dueOn" FROM occurrence o JOIN service_task k ON k.organisation_id = $1 AND k.id = o.service_task_id
       WHERE o.organisation_id = $1 AND o.machine_id = $2 AND o.state = 'open' AND k.key = 'check_chain'`,
      [us.organisationId, chainId],
    ),
  )
  return open?.dueOn
}

const likelyOn = async (label: string, taskKey: string): Promise<string> => {
  const { id } = (await us.manager('GET', `machine-labels/${label}`)).body
  const { items } = (await us.manager('GET', `machines/${id}/forecasts`)).body
  return items.find((item: Json) => item.taskKey === taskKey).likelyOn
}

describe('closed days before they are added', () => {
  it('say which dates move, as the next pass then writes them, and keep nothing', async () => {
    const before = await likelyOn('N-01', 'check_chain')
    const closure = { fromDate: before, toDate: before, reason: 'Stocktaking' }
    const { status, body } = await preview(closure)
    expect(status).toBe(200)
    const said = body.moves.find((one: Json) => one.labelCode === 'N-01' && one.taskKey === 'check_chain')
    expect(said).toMatchObject({ before: { dueOn: before } })
    expect(said.after.dueOn).not.toBe(before)
    expect([body.movedCount, body.earlierCount + body.laterCount]).toEqual([body.moves.length, body.moves.length])
    expect((await us.manager('GET', `warehouses/${us.north}`)).body.closures).toEqual([])
    await us.manager('POST', `warehouses/${us.north}/closures`, closure)
    await pass()
    expect(await likelyOn('N-01', 'check_chain')).toBe(said.after.dueOn)
  })

  it('name what is due within them already, of which the day stays (rule 9)', async () => {
    const before = await dueOn()
    const { body } = await preview({ fromDate: before, toDate: before })
    const due = { machineId: chainId, labelCode: 'CHAIN', taskName: 'Check the chain tension', dueOn: before }
    expect(body.openDues).toContainEqual(expect.objectContaining(due))
    expect(body.openDueCount).toBe(body.openDues.length)
    await us.manager('POST', `warehouses/${us.north}/closures`, { fromDate: before, toDate: before })
    await pass()
    expect(await dueOn()).toBe(before)
  })

  it('name the visits and orders that are planned for them by hand', async () => {
    const visit = { warehouseId: us.north, technicianId: us.people.technician, visitOn: '2026-06-03', workOrderIds: [] }
    const { id } = (await us.manager('POST', 'visits', visit)).body
    await us.manager('POST', 'visits', { ...visit, visitOn: '2026-06-05' })
    const { body } = await preview({ fromDate: '2026-06-02', toDate: '2026-06-04' })
    expect(body.visits).toEqual([{ id, visitOn: '2026-06-03', technicianName: 'technician' }])
    expect(body.workOrders).toEqual([])
  })

  it('are shown to nobody who may not add them', async () => {
    expect(
      (await us.technician('POST', `warehouses/${us.north}/closure-preview`, { fromDate: '2026-06-02', toDate: '2026-06-02' })).status,
    ).toBe(403)
  })
})
