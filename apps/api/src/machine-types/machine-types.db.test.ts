import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation, PLAN } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
const TYPE = { drive: 'electric', supply: 'wired_in', heater: true, shortestStripMm: 100, longestStripMm: 900 }

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
})
afterAll(() => api.close())

describe('a machine type', () => {
  it('comes with the default plan of its drive', async () => {
    const electric = (await us.manager('POST', 'machine-types', { ...TYPE, name: 'Electric' })).body
    const plan = (await us.manager('GET', `service-plans/${electric.currentPlanId}`)).body
    expect(plan).toMatchObject({ planVersion: 1, current: true, taskCount: plan.tasks.length })
    const keys = plan.tasks.map((task: Json) => task.key)
    expect(keys).toEqual(expect.arrayContaining(['measure_motor_brushes', 'replace_motor_brushes', 'replace_blade']))
    expect(plan.tasks.every((task: Json) => task.steps.length > 0 && task.triggers.length > 0)).toBe(true)
    const hand = (await us.manager('POST', 'machine-types', { ...TYPE, name: 'Hand', drive: 'hand', supply: 'none', heater: false })).body
    const byHand = (await us.manager('GET', `service-plans/${hand.currentPlanId}`)).body.tasks.map((task: Json) => task.key)
    expect(byHand).not.toContain('measure_motor_brushes')
    expect(hand.componentTypes.map((one: Json) => one.key)).not.toContain('heater')
  })

  it('is refused when it runs or heats by electricity and has no supply: its sheets would have no line on cutting it off', async () => {
    const hand = { ...TYPE, drive: 'hand', supply: 'none', heater: false }
    const refused = { code: 'NO_SUPPLY', errors: [{ pointer: '/supply' }] }
    expect((await us.manager('POST', 'machine-types', { ...hand, name: 'No cord', drive: 'electric' })).body).toMatchObject(refused)
    expect((await us.manager('POST', 'machine-types', { ...hand, name: 'Warm lever', heater: true })).body).toMatchObject(refused)
    const lever = (await us.manager('POST', 'machine-types', { ...hand, name: 'Plain lever' })).body
    expect((await us.manager('PATCH', `machine-types/${lever.id}`, { heater: true })).body).toMatchObject(refused)
    const plugged = await us.manager('PATCH', `machine-types/${lever.id}`, { heater: true, supply: 'cord_and_plug' })
    expect(plugged.body).toMatchObject({ drive: 'hand', heater: true, supply: 'cord_and_plug' })
  })

  it('refuses limits that cross', async () => {
    const limits = { ...TYPE, name: 'Crossed', brushNewMm: 12, brushPlanLimitMm: 6, brushNeverBelowMm: 7 }
    expect((await us.manager('POST', 'machine-types', limits)).body).toMatchObject({
      code: 'LIMITS_CROSS',
      errors: [{ pointer: '/brushNeverBelowMm' }],
    })
    expect((await us.manager('PATCH', `machine-types/${us.machineTypeId}`, { longestStripMm: 10 })).body.code).toBe('LENGTHS_CROSS')
  })
})

describe('a machine type said wrongly', () => {
  const planNames = async (id: string): Promise<string[]> => {
    const { currentPlanId } = (await us.manager('GET', `machine-types/${id}`)).body
    return (await us.manager('GET', `service-plans/${currentPlanId}`)).body.tasks.map((task: Json) => task.name)
  }
  it('has the product’s own plan written anew for its facts, and leaves a plan of one’s own alone', async () => {
    const { id } = (await us.manager('POST', 'machine-types', { ...TYPE, name: 'Has no heater' })).body
    expect(await planNames(id)).toContain('Clean heater and plates')
    const put = (body: object) => us.manager('PATCH', `machine-types/${id}`, body)
    expect((await put({ heater: false, usualStripsPerDay: 900 })).body).toMatchObject({ currentPlanVersion: 2, usualStripsPerDay: 900 })
    expect(await planNames(id)).toContain('Clean the plates')
    expect((await put({ name: 'Without a heater' })).body).toMatchObject({ currentPlanVersion: 2 })
    await us.manager('POST', `machine-types/${id}/service-plans`, PLAN)
    expect((await put({ heater: true })).body).toMatchObject({ currentPlanVersion: 3, heater: true })
  })

  it('lets readings count that were set aside because it was said to have no counter', async () => {
    const put = (body: object) => us.manager('PATCH', `machine-types/${us.machineTypeId}`, body)
    await put({ counterKind: 'none' })
    const at = '2026-04-01T08:00:00Z'
    const { id } = (await us.manager('POST', 'evidence', { kind: 'counter_reading', machineId: us.machineId, at, value: 5000 })).body
    const state = async () =>
      (await us.manager('GET', `evidence?machineId=${us.machineId}`)).body.items.find((one: Json) => one.id === id).state
    expect(await state()).toBe('set_aside')
    await put({ name: 'Long-strip electric' })
    expect(await state()).toBe('set_aside')
    await put({ counterKind: 'strips' })
    expect(await state()).toBe('counted')
  })
})

describe('a machine type entered by mistake', () => {
  it('goes with its plan and what it was shown for, and one with machines stays', async () => {
    const { id } = (await us.manager('POST', 'machine-types', { ...TYPE, name: 'Twice' })).body
    const shown = { machineTypeId: id, instructedOn: '2026-05-01', instructedBy: 'Mara' }
    await us.manager('POST', `people/${us.people.instructed}/instructions`, shown)
    await us.manager('POST', 'parts', { name: 'Blade', stockCode: 'BL-1', fitsMachineTypeIds: [id, us.machineTypeId] })
    expect(await us.manager('DELETE', `machine-types/${id}`)).toMatchObject({ status: 200, body: { done: true } })
    expect((await us.manager('GET', `machine-types/${id}`)).status).toBe(404)
    const [blade] = (await us.manager('GET', 'parts?search=BL-1')).body.items
    expect(blade.fits.map((fit: Json) => fit.machineTypeId)).toEqual([us.machineTypeId])
    expect(await us.manager('DELETE', `machine-types/${us.machineTypeId}`)).toMatchObject({
      status: 409,
      body: { code: 'HAS_MACHINES', detail: expect.stringContaining('2 machines are of this type') },
    })
  })
})

describe('a component type of one’s own', () => {
  it('is called by another name and keeps its key', async () => {
    const made = (await us.manager('POST', 'component-types', { key: 'dust_filter', name: 'Dust fliter' })).body
    expect((await us.manager('PATCH', `component-types/${made.id}`, { name: 'Dust filter' })).body).toEqual({
      ...made,
      name: 'Dust filter',
    })
    expect((await us.manager('GET', 'component-types')).body.items).toContainEqual({ ...made, name: 'Dust filter' })
    expect((await us.manager('POST', 'component-types', { key: 'dust_filter', name: 'Again' })).status).toBe(409)
  })
})

describe('a new version of the plan', () => {
  it('keeps the ids of tasks that keep their key, and has the dates computed anew', async () => {
    const before = (await us.manager('GET', `machine-types/${us.machineTypeId}/service-plans`)).body.items[0]
    const old = (await us.manager('GET', `service-plans/${before.id}`)).body
    api.planned.length = 0
    const tasks = PLAN.tasks.map((task) => (task.key === 'check_chain' ? { ...task, triggers: [{ kind: 'calendar', months: 12 }] } : task))
    const next = await us.manager('POST', `machine-types/${us.machineTypeId}/service-plans`, { tasks, note: 'chain yearly' })
    expect(next.body).toMatchObject({ planVersion: 2, current: true, createdByName: 'manager', machineTypeName: 'Long-strip electric' })
    const ids = (plan: Json) => plan.tasks.map((task: Json) => task.serviceTaskId)
    expect(ids(next.body)).toEqual(ids(old))
    expect(new Set(api.planned)).toEqual(new Set([us.north, us.south]))
  })
  it('is not written over one that somebody else saved meanwhile, unless it says that it knows of it', async () => {
    const path = `machine-types/${us.machineTypeId}/service-plans`
    const newest = async () => (await us.manager('GET', path)).body.items[0].planVersion as number
    const from = await newest()
    expect((await us.administrator('POST', path, { ...PLAN, afterVersion: from })).status).toBe(201)
    expect(await us.manager('POST', path, { ...PLAN, afterVersion: from })).toMatchObject({
      status: 409,
      body: {
        code: 'CHANGED_MEANWHILE',
        detail: `Version ${from + 1} of this plan was saved by administrator while this one was written.`,
      },
    })
    expect(await newest()).toBe(from + 1)
    expect((await us.manager('POST', path, { ...PLAN, afterVersion: from + 1 })).status).toBe(201)
    expect((await us.manager('POST', path, PLAN)).status).toBe(201)
  })

  it.each([
    ['a component that is not in the books', { componentKey: 'flux_coil' }, 'UNKNOWN_COMPONENT_TYPE'],
    [
      'a step that measures nothing',
      { steps: [{ key: 's', text: 'Measure', answer: 'measurement', measurementKey: 'x' }] },
      'UNKNOWN_MEASUREMENT',
    ],
    ['a choice of one', { steps: [{ key: 's', text: 'Choose', answer: 'choice', choices: ['a'] }] }, 'NO_CHOICES'],
    ['a measurement that opens no task', { measurements: [{ key: 'm', name: 'M', opensTaskKey: 'nothing' }] }, 'UNKNOWN_TASK'],
  ])('refuses %s', async (_what, more, code) => {
    const task = {
      key: 'look',
      name: 'Look',
      minutes: 5,
      skill: 'technician',
      reach: 'outside',
      triggers: [{ kind: 'calendar_month' }],
      ...more,
    }
    const reply = await us.manager('POST', `machine-types/${us.machineTypeId}/service-plans`, { tasks: [task] })
    expect(reply).toMatchObject({ status: 422, body: { code } })
  })
})
