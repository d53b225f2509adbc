/** Every line of the route table × every role × ids of another organisation: made from the table, so a new route is in it by itself. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { Controller, Get } from '@nestjs/common'
import { newId } from '@tapewarden/platform'
import { type Role, type Route, routes } from '@tapewarden/shared'
import { type Ask, type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'
import { smallJpeg } from '../../../../tests/support/jpeg.js'
import { UndeclaredRouteError } from './declared-routes.js'

let api: TestApi
let us: ApiOrganisation
let them: ApiOrganisation
/** An id of the other organisation for every name that a path uses. */
let foreign: Record<string, string>

const ROLES = ['administrator', 'manager', 'technician', 'instructed'] as const
const table = Object.entries(routes) as [string, Route][]
const limited = table.filter(([, route]) => Array.isArray(route.access)) as [string, Route & { access: readonly Role[] }][]
const withIds = limited.filter(([, route]) => route.path.includes(':'))

const pathOf = (route: Route, ids: (name: string) => string) => route.path.replace(/:(\w+)/g, (_all, name: string) => ids(name))
const withoutInstance = ({ status, body }: { status: number; body: Json }) => ({ status, body: { ...body, instance: '' } })

/** The least body that a route accepts, so that the answer is about access and ids alone. */
const BODIES: Record<string, unknown> = {
  changePassword: { currentPassword: 'x', newPassword: 'a long new password' },
  patchMe: {},
  patchMyMail: {},
  patchPersonMail: {},
  patchWarehouse: {},
  putShifts: { shifts: [] },
  addClosure: { fromDate: '2026-12-25', toDate: '2026-12-25' },
  previewClosure: { fromDate: '2026-12-25', toDate: '2026-12-25' },
  addPeak: { fromDate: '2026-12-01', toDate: '2026-12-25' },
  putWarehousePeople: { personIds: [] },
  patchStation: {},
  walkStation: { to: 'later' },
  patchComponentType: { name: 'x' },
  patchPerson: {},
  patchWebhook: {},
  anonymisePerson: { name: 'x' },
  setPassword: { newPassword: 'a long new password' },
  addAbsence: { fromDate: '2026-06-01', toDate: '2026-06-02' },
  patchMachineType: {},
  patchMachine: {},
  standMachine: { stationName: 'B07' },
  changeMachineStatus: { status: 'on_the_shelf' },
  fitComponent: { componentKey: 'blade', fittedOn: '2026-05-01' },
  patchComponent: { note: 'x' },
  takeBackCare: { reason: 'wrong machine' },
  removeComponent: { removedOn: '2026-05-01', reason: 'worn' },
  reportFinding: { text: 'seen' },
  settleFinding: { note: 'cord replaced by our electrician' },
  dismissEvidence: { reason: 'wrong' },
  putOffOccurrence: { until: '2026-05-20', reason: 'no time' },
  skipOccurrence: { reason: 'no time' },
  patchWorkOrder: {},
  issueWorkOrder: {},
  lookOverWorkOrder: {},
  returnWorkOrder: { reason: 'again' },
  cancelWorkOrder: { reason: 'not needed' },
  settleWorkConflict: { counts: 'first' },
  patchVisit: {},
  patchStoppage: {},
  closeStoppage: {},
  patchPart: {},
  mapImport: { mapping: { labelCode: 0 } },
  applyImport: { how: 'good_rows' },
  putPartStock: { onHand: 1, leadTimeDays: 3 },
  settleKept: { entryIds: [] },
}
function bodyOf(name: string, route: Route): unknown {
  if (!route.body) return undefined
  if (name === 'addInstruction') return { machineTypeId: us.machineTypeId, instructedOn: '2026-05-01', instructedBy: 'Mara' }
  if (name === 'createServicePlan' || name === 'previewServicePlan')
    return {
      tasks: [{ key: 'look', name: 'Look', minutes: 5, skill: 'instructed', reach: 'outside', triggers: [{ kind: 'calendar_month' }] }],
    }
  if (name === 'tellCare') return { serviceTaskId: newId(), doneOn: '2026-05-01', doneBy: 'Bolt and Sons' }
  if (name === 'giveFinding') return { serviceTaskId: newId() }
  if (name === 'swapMachine') return { spareMachineId: us.farMachineId, status: 'at_the_bench' }
  if (name === 'moveMachine') return { warehouseId: us.north }
  if (name === 'correctEvidence')
    return { replacement: { kind: 'strips_day', machineId: us.machineId, day: '2026-05-01', strips: 1 }, reason: 'typed wrong' }
  if (name === 'addWorkEntry') return { kind: 'note', id: newId(), madeAt: '2026-05-04T07:00:00Z', text: 'seen' }
  return BODIES[name]
}

async function makeThings(them: ApiOrganisation): Promise<Record<string, string>> {
  const post = async (path: string, body: unknown): Promise<Json> => {
    const reply = await them.administrator('POST', path, body)
    if (reply.status >= 300) throw new Error(`${path}: ${JSON.stringify(reply.body)}`)
    return reply.body
  }
  const warehouse = await post(`warehouses/${them.north}/closures`, { fromDate: '2026-12-25', toDate: '2026-12-25' })
  const peaks = await post(`warehouses/${them.north}/peaks`, { fromDate: '2026-12-01', toDate: '2026-12-20' })
  const person = await post(`people/${them.people.technician}/absences`, { fromDate: '2026-06-01', toDate: '2026-06-02' })
  const instructed = (await them.administrator('GET', `people/${them.people.instructed}`)).body
  const evidence = await post('evidence', { kind: 'strips_day', machineId: them.machineId, day: '2026-05-01', strips: 500 })
  const stoppage = await post('stoppages', { machineId: them.machineId })
  const part = await post('parts', { name: 'Brush set', stockCode: 'B-1' })
  const visit = await post('visits', { warehouseId: them.north, visitOn: '2026-05-11' })
  const components = (await them.administrator('GET', `machines/${them.machineId}/components`)).body.items
  const plans = (await them.administrator('GET', `machine-types/${them.machineTypeId}/service-plans`)).body.items
  const feed = await post('me/calendar-feeds', { warehouseId: them.north })
  const sessions = (await them.administrator('GET', 'sessions')).body.items
  const accessKey = await post('access-keys', { name: 'k', scopes: ['fleet:read'], days: 5 })
  const counted = await post('machines/counted', {
    machineTypeId: them.machineTypeId,
    warehouseId: them.north,
    count: 1,
    labelPrefix: 'FC-',
  })
  const view = await post('me/views', { place: 'machines', name: 'theirs', search: 'order=due' })
  const { tablet } = await post('tablets', { name: 'Dock', warehouseId: them.north })
  const storageId = newId()
  await post('phone-words', { storageId, kept: [] })
  const occurrenceId = await openOccurrence(them)
  const photo = await post('photos', {
    id: newId(),
    machineId: them.machineId,
    takenAt: '2026-05-04T07:00:00Z',
    content: smallJpeg().toString('base64'),
  })
  const webhook = await post('webhooks', { name: 'w', url: 'https://hooks.example/', kinds: ['due'] })
  const telling = await post(`webhooks/${webhook.webhook.id}/trials`, undefined)
  const { id: componentTypeId } = await post('component-types', { key: 'dust_filter', name: 'Dust filter' })
  const passkeyId = newId()
  await api.database.withOrganisationSql(them.organisationId, (scope) =>
    scope.run(
      `INSERT INTO passkey (organisation_id, id, person_id, name, credential_id, public_key, created_at) VALUES ($1, $2, $3, 'k', $4, 'k', now())`,
      [them.organisationId, passkeyId, them.people.administrator, newId()],
    ),
  )
  const order = await post('work-orders', { machineId: them.machineId, occurrenceIds: [occurrenceId] })
  return {
    warehouseId: them.north,
    closureId: warehouse.closures[0].id,
    peakId: peaks.peaks[0].id,
    stationId: them.station,
    personId: them.people.technician,
    absenceId: person.absences[0].id,
    instructionId: instructed.instructions[0].id,
    machineTypeId: them.machineTypeId,
    servicePlanId: plans[0].id,
    machineId: them.machineId,
    labelCode: 'FOREIGN-LABEL',
    componentId: components[0].componentId,
    placementId: components[0].placementId,
    evidenceId: evidence.id,
    occurrenceId,
    workOrderId: order.id,
    entryId: newId(),
    serviceRecordId: await toldCare(them),
    findingId: (await post(`machines/${them.machineId}/findings`, { text: 'cracked cover' })).id,
    visitId: visit.id,
    stoppageId: stoppage.id,
    partId: part.id,
    photoId: photo.id,
    sessionId: sessions[0].id,
    feedId: feed.id,
    accessKeyId: accessKey.key.id,
    fleetChangeId: counted.change.id,
    savedViewId: view.id,
    tabletId: tablet.id,
    storageId,
    passkeyId,
    componentTypeId,
    webhookId: webhook.webhook.id,
    deliveryId: telling.id,
  }
}

async function toldCare(of: ApiOrganisation): Promise<string> {
  const [task] = await api.database.withOrganisationSql(of.organisationId, (scope) =>
    scope.rows<{ id: string }>(`SELECT id FROM service_task WHERE organisation_id = $1 AND key = 'oil_blade_felt'`, [of.organisationId]),
  )
  const told = { serviceTaskId: task?.id, doneOn: '2026-05-01', doneBy: 'Mara' }
  return (await of.administrator('POST', `machines/${of.machineId}/service-records`, told)).body.id
}

async function openOccurrence(of: ApiOrganisation): Promise<string> {
  const id = newId()
  await api.database.withOrganisationSql(of.organisationId, (scope) =>
    scope.run(
      `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, sequence, kind, state, opened_on, nominal_on, window_from, window_to,
         hard_limit_on, due_on, late_from, governing_trigger, created_at)
       SELECT $1, $2, $3, pt.service_task_id, pt.id, $4, 1, 'regular', 'open', '2026-05-01', '2026-05-10', '2026-05-01', '2026-05-20', '2026-06-20', '2026-05-10', '2026-05-21', 'calendar', now()
       FROM plan_task pt JOIN service_task k ON k.organisation_id = pt.organisation_id AND k.id = pt.service_task_id WHERE pt.organisation_id = $1 AND k.key = 'check_chain'`,
      [of.organisationId, id, of.machineId, of.north],
    ),
  )
  return id
}

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'ours')
  them = await makeOrganisation(api, 'theirs')
  foreign = await makeThings(them)
  await api.database.withOrganisationSql(them.organisationId, (scope) =>
    scope.run(`UPDATE machine SET label_code = 'FOREIGN-LABEL' WHERE organisation_id = $1 AND id = $2`, [
      them.organisationId,
      them.machineId,
    ]),
  )
})
afterAll(() => api.close())

describe('who may ask', () => {
  it.each(limited)('%s: nobody without a session', async (name, route) => {
    const reply = await api.anyone(
      route.method,
      pathOf(route, () => newId()),
      bodyOf(name, route),
    )
    expect(reply).toMatchObject({ status: 401, body: { code: 'NOT_SIGNED_IN' } })
  })

  const barred = limited.flatMap(([name, route]) =>
    ROLES.filter((role) => !route.access.includes(role)).map((role) => [name, role, route] as const),
  )
  it.each(barred)('%s: not for %s', async (name, role, route) => {
    const reply = await us[role](
      route.method,
      pathOf(route, () => newId()),
      bodyOf(name, route),
    )
    expect(reply).toMatchObject({ status: 403, body: { code: 'ROLE_NOT_ALLOWED' } })
  })

  it.each(table.filter(([, route]) => route.access === 'round_link' || route.access === 'tablet'))(
    '%s: not without the link or the tablet that it is for, even when signed in',
    async (_name, route) => {
      expect(
        (
          await us.administrator(
            route.method,
            pathOf(route, () => newId()),
            {},
          )
        ).status,
      ).toBe(401)
    },
  )
})

describe('ids of another organisation', () => {
  const cases = withIds.flatMap(([name, route]) => route.access.map((role) => [name, role, route] as const))
  it.each(cases)('%s as %s: the same answer as for unknown ids, and nothing of theirs in it', async (name, role, route) => {
    const ask: Ask = us[role]
    const body = bodyOf(name, route)
    const known = await ask(
      route.method,
      pathOf(route, (id) => foreign[id] ?? newId()),
      body,
    )
    const unknown = await ask(
      route.method,
      pathOf(route, (id) => (id === 'labelCode' ? 'NO-SUCH' : newId())),
      body,
    )
    expect(known.status).toBe(404)
    expect(withoutInstance(known)).toEqual(withoutInstance(unknown))
  })

  it('in bodies and queries name nothing either', async () => {
    const place = { warehouseId: foreign.warehouseId }
    const bodies: [string, unknown][] = [
      ['machines', { serialNumber: 'x', labelCode: 'X-9', machineTypeId: us.machineTypeId, placement: place }],
      ['machines', { serialNumber: 'x', labelCode: 'X-9', machineTypeId: foreign.machineTypeId, placement: { warehouseId: us.north } }],
      ['stations', { name: 'Z', ...place }],
      ['evidence', { kind: 'strips_day', machineId: foreign.machineId, day: '2026-05-01', strips: 5 }],
      ['evidence/bulk', { source: 's', ...place, items: [{ kind: 'monthly_tap' }] }],
      ['stoppages', { machineId: foreign.machineId }],
      ['visits', { visitOn: '2026-05-11', ...place }],
      ['work-orders', { machineId: foreign.machineId, occurrenceIds: [foreign.occurrenceId] }],
      ['work-orders', { machineId: us.machineId, occurrenceIds: [foreign.occurrenceId] }],
      [`machines/${us.machineId}/moves`, place],
      ['me/calendar-feeds', place],
      ['rounds/links', { ...place, month: '2026-05', personId: us.people.technician }],
      ['rounds/links', { warehouseId: us.north, month: '2026-05', personId: foreign.personId }],
    ]
    for (const [path, body] of bodies) expect([404, 422]).toContain((await us.administrator('POST', path, body)).status)
    const lists = [
      'machines',
      'stations',
      'evidence',
      'occurrences',
      'work-orders',
      'visits',
      'stoppages',
      'messages',
      'reminders',
      'people',
      'parts',
    ]
    for (const list of lists) {
      const { body } = await us.administrator('GET', `${list}?warehouseId=${foreign.warehouseId}&limit=200`)
      if (list === 'parts') expect(JSON.stringify(body)).not.toContain(foreign.partId)
      else expect(body.items).toEqual([])
    }
  })

  it('stay out of every list', async () => {
    const ids = Object.values(foreign)
    for (const [, route] of limited) {
      if (route.method !== 'GET' || route.path.includes(':')) continue
      const query = route.path.endsWith('/review')
        ? '?from=2026-01-01&to=2026-12-31'
        : route.path.endsWith('/rounds')
          ? `?warehouseId=${us.north}`
          : route.path.endsWith('/photos')
            ? `?machineId=${us.machineId}`
            : ''
      const reply = await us.administrator('GET', route.path + query)
      expect(reply.status).toBe(200)
      const text = JSON.stringify(reply.body)
      for (const id of ids) expect(text).not.toContain(id)
    }
  })
})

describe('a technician', () => {
  it('sees the warehouses they serve and no other, by every list and by id', async () => {
    expect((await us.technician('GET', `machines/${us.farMachineId}`)).status).toBe(404)
    expect((await us.technician('GET', `warehouses/${us.south}`)).status).toBe(404)
    for (const list of [
      'machines',
      'stations',
      'warehouses',
      'coming-up',
      'this-week',
      'evidence',
      'stoppages',
      'work-orders',
      'occurrences',
      'visits',
    ])
      expect(JSON.stringify((await us.technician('GET', list)).body)).not.toContain(us.south)
  })
})

describe('starting', () => {
  @Controller()
  class Undeclared {
    @Get('/api/v1/secrets')
    secrets() {
      return 'everything'
    }
  }
  it('fails for a route without declared access', async () => {
    await expect(startTestApi('2026-05-04T08:00:00Z', { moreControllers: [Undeclared] })).rejects.toThrow(UndeclaredRouteError)
  })
})
