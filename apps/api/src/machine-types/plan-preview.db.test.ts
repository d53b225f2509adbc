import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { runPlanningPass } from '@tapewarden/persistence'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation, PLAN } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
const withMonths = (key: string, months: number) => ({
  tasks: PLAN.tasks.map((task) => (task.key === key ? { ...task, triggers: [{ kind: 'calendar', months }] } : task)),
})
const preview = (plan: object) => us.manager('POST', `machine-types/${us.machineTypeId}/service-plan-preview`, plan)

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
  // Chain last checked 4 December 2025: five of six months used.
  await us.manager('POST', 'machines', {
    serialNumber: 'S-chain',
    labelCode: 'CHAIN',
    machineTypeId: us.machineTypeId,
    commissionedOn: '2025-01-10',
    placement: { warehouseId: us.north },
    lastDone: [{ taskKey: 'check_chain', doneOn: '2025-12-04' }],
  })
})
afterAll(() => api.close())

const pass = async () => {
  for (const warehouseId of [us.north, us.south])
    await runPlanningPass(api.database, {
      organisationId: us.organisationId,
      warehouseId,
      today: '2026-05-04',
      now: new Date('2026-05-04T08:00:00Z'),
    })
}
/** Once it is open its due day, which keeps off days without work; before that the likely day. */
const chainDate = async () => {
  const machine = (await us.manager('GET', 'machine-labels/CHAIN')).body
  const open = await api.database.withOrganisationSql(us.organisationId, (scope) =>
    scope.rows<{ dueOn: string }>(
      `SELECT o.due_on AS "dueOn" FROM occurrence o JOIN service_task k ON k.organisation_id = $1 AND k.id = o.service_task_id
       WHERE o.organisation_id = $1 AND o.machine_id = $2 AND o.state = 'open' AND k.key = 'check_chain'`,
      [us.organisationId, machine.id],
    ),
  )
  const { items } = (await us.manager('GET', `machines/${machine.id}/forecasts`)).body
  return open[0]?.dueOn ?? items.find((item: Json) => item.taskKey === 'check_chain').likelyOn
}
const line = (body: Json, key: string) => body.tasks.find((task: Json) => task.key === key)
const move = (body: Json) => body.moves.find((one: Json) => one.labelCode === 'CHAIN' && one.taskKey === 'check_chain')

describe('a changed plan before it is saved', () => {
  it('says nothing moves where nothing was changed, and keeps nothing', async () => {
    const { status, body } = await preview(PLAN)
    expect(status).toBe(200)
    expect(body).toMatchObject({ machineCount: 3, machinesComputed: 3, movedCount: 0, moves: [] })
    expect(body.tasks.every((task: Json) => task.change === 'same')).toBe(true)
    expect((await us.manager('GET', `machine-types/${us.machineTypeId}/service-plans`)).body.items).toHaveLength(1)
    const audit = (await us.manager('GET', 'audit?limit=200')).body.items
    expect(audit.filter((entry: Json) => entry.subjectKind === 'service plan')).toHaveLength(1)
  })

  it('lets a longer interval leave the date that stands (rules.md, worked case 6 → 12 months with 5 used)', async () => {
    const { body } = await preview(withMonths('check_chain', 12))
    expect(move(body)).toBeUndefined()
    expect(line(body, 'check_chain')).toMatchObject({
      change: 'triggers',
      sentences: [expect.stringContaining('the date that stands stays')],
    })
  })

  it('says by how much a shorter one moves each machine, and the next pass then writes exactly that (rule 19)', async () => {
    await pass()
    // Rule 3: six months from 4 December 2025 is 4 June 2026, a Thursday.
    expect(await chainDate()).toBe('2026-06-04')
    const plan = withMonths('check_chain', 3)
    const { body } = await preview(plan)
    const said = move(body)
    expect(said).toMatchObject({ before: { dueOn: '2026-06-04' }, lastDoneOn: '2025-12-04' })
    // Past by the change: a day within four weeks of it.
    expect(said.after.dueOn >= '2026-05-04' && said.after.dueOn <= '2026-06-01').toBe(true)
    expect(said.days).toBeLessThan(0)
    expect(line(body, 'check_chain')).toMatchObject({ change: 'triggers', earlierCount: expect.any(Number) })
    expect(line(body, 'check_chain').earlierCount).toBeGreaterThan(0)
    await us.manager('POST', `machine-types/${us.machineTypeId}/service-plans`, plan)
    await pass()
    expect(await chainDate()).toBe(said.after.dueOn)
  })

  it('names tasks that come and go', async () => {
    const added = { ...PLAN.tasks[3], key: 'inspect_roller', name: 'Inspect the roller', componentKey: 'pressure_roller' }
    const { body } = await preview({ tasks: [...PLAN.tasks.filter((task) => task.key !== 'interlock_check'), added] })
    expect(line(body, 'interlock_check')).toMatchObject({ change: 'gone' })
    expect(line(body, 'inspect_roller')).toMatchObject({ change: 'new' })
    expect(body.moves.some((one: Json) => one.taskKey === 'inspect_roller' && one.before === null)).toBe(true)
    expect(body.moves.some((one: Json) => one.taskKey === 'interlock_check' && one.after === null)).toBe(true)
  })

  it('refuses what saving would refuse', async () => {
    const bad = { tasks: [{ ...PLAN.tasks[0], componentKey: 'flux_coil' }] }
    expect((await preview(bad)).body.code).toBe('UNKNOWN_COMPONENT_TYPE')
    expect((await us.technician('POST', `machine-types/${us.machineTypeId}/service-plan-preview`, PLAN)).status).toBe(403)
  })
})
