/** A person's name and everything personal taken away: looked for in every table; work records stay, the chain stays whole. */
import { afterAll, beforeAll, expect, it } from '@jest/globals'
import { verifyAudit } from '@tapewarden/persistence'
import { newId } from '@tapewarden/platform'
import { Client } from 'pg'
import { startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
let them: ApiOrganisation
let owner: Client
const NAME = 'Tilda "T" Quast'
const EMAIL = 'tilda.quast@ours.example'
let personId: string
let orderId: string

const sql = <Row extends Record<string, unknown>>(text: string, values: unknown[] = []) =>
  api.database.withOrganisationSql(us.organisationId, (scope) => scope.rows<Row>(text, values as string[]))
const anonymise = (name = NAME, id = personId) => us.administrator('POST', `people/${id}/anonymisation`, { name })

/** Tables and how many of their rows say the name or the address anywhere. */
async function whereNamed(): Promise<Record<string, number>> {
  const { rows } = await owner.query(
    `SELECT relname::text AS name FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind = 'r'`,
  )
  const found: Record<string, number> = {}
  for (const { name } of rows) {
    const { rows: counted } = await owner.query(`SELECT count(*)::int AS n FROM "${name}" t WHERE to_jsonb(t)::text ~* 'quast'`)
    if (counted[0].n > 0) found[name] = counted[0].n
  }
  return found
}

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'ours')
  them = await makeOrganisation(api, 'theirs')
  owner = new Client({ connectionString: api.test.ownerUrl })
  await owner.connect()
  personId = (await us.administrator('POST', 'people', { name: NAME, role: 'technician', email: EMAIL, warehouseIds: [us.north] })).body.id
  await us.administrator('PATCH', `people/${personId}`, { leadDays: 3 })
  await us.administrator('POST', `people/${personId}/absences`, { fromDate: '2026-06-01', toDate: '2026-06-02' })
  await us.administrator('POST', `people/${personId}/invitations`)
  await us.administrator('POST', `people/${us.people.instructed}/instructions`, {
    machineTypeId: us.machineTypeId,
    instructedOn: '2026-02-10',
    instructedBy: NAME,
  })
  const [task] = await sql<{ id: string; planTaskId: string }>(
    `SELECT k.id, pt.id AS "planTaskId" FROM service_task k JOIN plan_task pt ON pt.service_task_id = k.id WHERE k.key = 'check_chain'`,
  )
  const occurrenceId = newId()
  await sql(
    `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, sequence, kind, state, opened_on, nominal_on, window_from, window_to, due_on, governing_trigger, created_at)
     VALUES ($1, $2, $3, $4, $5, $6, 1, 'regular', 'open', '2026-05-01', '2026-05-10', '2026-05-01', '2026-05-20', '2026-05-10', 'calendar', now())`,
    [us.organisationId, occurrenceId, us.machineId, task!.id, task!.planTaskId, us.north],
  )
  orderId = (await us.administrator('POST', 'work-orders', { machineId: us.machineId, occurrenceIds: [occurrenceId] })).body.id
  expect((await us.administrator('POST', `work-orders/${orderId}/issue`, { technicianId: personId })).status).toBeLessThan(300)
  await sql(`UPDATE work_order_task SET answers = $1`, [JSON.stringify({ check: { answer: true, at: '2026-05-04T08:00:00Z', by: NAME } })])
  await sql(
    `INSERT INTO service_record (organisation_id, id, machine_id, service_task_id, done_on, done_at, person_id, person_name, source, anchor_on, created_at)
     VALUES ($1, $2, $3, $4, '2026-05-02', now(), $5, $6, 'import', '2026-05-02', now())`,
    [us.organisationId, newId(), us.machineId, task!.id, personId, NAME],
  )
  await sql(`UPDATE message SET to_address = $1, subject = $2 WHERE person_id = $3`, [EMAIL, `For ${NAME}`, personId])
}, 120_000)
afterAll(async () => {
  await owner.end()
  await api.close()
})

it('needs a person who was let go and is named for no reminders, and the name typed as it is', async () => {
  expect(await anonymise()).toMatchObject({ status: 409, body: { code: 'STILL_LET_IN' } })
  expect((await us.administrator('PATCH', `warehouses/${us.north}`, { secondPersonId: personId })).status).toBe(200)
  await us.administrator('PATCH', `people/${personId}`, { disabled: true })
  expect(await anonymise('Tilda')).toMatchObject({ status: 422, body: { code: 'NAME_DIFFERS', errors: [{ pointer: '/name' }] } })
  expect(await anonymise()).toMatchObject({ status: 409, body: { code: 'NAMED_FOR_REMINDERS' } })
  await us.administrator('PATCH', `warehouses/${us.north}`, { secondPersonId: us.people.technician })
  expect((await us.administrator('POST', `people/${us.people.administrator}/anonymisation`, { name: 'administrator' })).body.code).toBe(
    'OWN_PERSON',
  )
  expect((await us.manager('POST', `people/${personId}/anonymisation`, { name: NAME })).status).toBe(403)
})

it('leaves the name in no table, the work records as they were, and the chain whole', async () => {
  const before = await whereNamed()
  for (const table of ['person', 'audit_entry', 'instruction', 'service_record', 'work_order_task', 'message'])
    expect(before[table]).toBeGreaterThan(0)
  const records = () => sql(`SELECT id, machine_id, done_on, person_id, source FROM service_record ORDER BY id`)
  const kept = await records()
  const reply = await anonymise()
  const tag = `Former person ${personId.slice(-4).toUpperCase()}`
  expect(reply).toMatchObject({
    status: 200,
    body: { name: tag, email: null, anonymised: true, disabled: true, absences: [], warehouseIds: [] },
  })
  expect(await whereNamed()).toEqual({})
  expect(await records()).toEqual(kept)
  expect((await us.administrator('GET', `work-orders/${orderId}`)).body.technician.name).toBe(tag)
  const report = await api.database.withOrganisationSql(us.organisationId, (scope) => verifyAudit(scope))
  expect(report.faults).toEqual([])
  expect(report.redacted).toBeGreaterThan(3)
  expect((await anonymise(tag)).body.code).toBe('ANONYMISED')
  expect((await us.administrator('PATCH', `people/${personId}`, { disabled: false })).body.code).toBe('ANONYMISED')
})

it('touches nobody else, in this organisation or another', async () => {
  expect((await us.administrator('GET', `people/${us.people.technician}`)).body).toMatchObject({
    anonymised: false,
    email: 'technician@ours.example',
  })
  const report = await api.database.withOrganisationSql(them.organisationId, (scope) => verifyAudit(scope))
  expect(report).toMatchObject({ redacted: 0, faults: [] })
})

it('can be done to the one who did it, later, and both stay as they were verified', async () => {
  const second = (await us.administrator('POST', 'people', { name: 'Otto Ohnesorg', role: 'technician', email: 'otto@ours.example' })).body
    .id
  await us.administrator('PATCH', `people/${second}`, { disabled: true })
  expect((await anonymise('Otto Ohnesorg', second)).status).toBe(200)
  const report = await api.database.withOrganisationSql(us.organisationId, (scope) => verifyAudit(scope))
  expect(report.faults).toEqual([])
})
