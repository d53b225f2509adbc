import { ConflictError, InvalidError, newId } from '@tapewarden/platform'
import type { Person, RouteBody, RouteQuery, RouteResult, Routes } from '@tapewarden/shared'
import { endAccountLinks } from '../accounts/account-links.js'
import { refuseCommonPassword, storePassword } from '../sessions/session-use-cases.js'
import { pageOf, readCursor } from '../use/paging.js'
import { assignments, type Columns, insertion, requireVersion } from '../use/patch.js'
import type { Changing, Reading } from '../use/work.js'
import { keepOneAdministrator, keepOrdersInReach, keepRemindersGoing, planAnew } from './keeping.js'

type PersonRow = Person & Record<string, unknown>
const COLUMNS: Columns = {
  name: 'name',
  email: 'email',
  role: 'role',
  language: 'language',
  units: 'units',
  electricallyQualified: 'electrically_qualified',
  leadDays: 'lead_days',
}
const SELECT = `SELECT p.id, p.name, p.email, p.role, p.language, p.units, p.electrically_qualified AS "electricallyQualified", p.lead_days AS "leadDays",
    p.disabled_at IS NOT NULL AS disabled, p.anonymised_at IS NOT NULL AS anonymised, p.password_hash IS NOT NULL AND p.disabled_at IS NULL AS "canSignIn", p.version,
    EXISTS (SELECT 1 FROM second_factor f WHERE f.organisation_id = p.organisation_id AND f.person_id = p.id AND f.confirmed_at IS NOT NULL) AS "hasCodes",
    (SELECT count(*)::int FROM passkey k WHERE k.organisation_id = p.organisation_id AND k.person_id = p.id) AS "passkeyCount",
    COALESCE((SELECT jsonb_agg(x.warehouse_id ORDER BY x.warehouse_id) FROM person_warehouse x
      WHERE x.organisation_id = p.organisation_id AND x.person_id = p.id), '[]') AS "warehouseIds",
    COALESCE((SELECT jsonb_agg(jsonb_build_object('id', a.id, 'fromDate', a.from_date, 'toDate', a.to_date, 'coverPersonId', a.cover_person_id) ORDER BY a.from_date)
      FROM absence a WHERE a.organisation_id = p.organisation_id AND a.person_id = p.id), '[]') AS absences,
    COALESCE((SELECT jsonb_agg(jsonb_build_object('id', i.id, 'machineTypeId', i.machine_type_id, 'machineTypeName', t.name, 'instructedOn', i.instructed_on,
        'instructedBy', i.instructed_by) ORDER BY i.instructed_on)
      FROM instruction i JOIN machine_type t ON t.organisation_id = i.organisation_id AND t.id = i.machine_type_id
      WHERE i.organisation_id = p.organisation_id AND i.person_id = p.id), '[]') AS instructions
  FROM person p WHERE p.organisation_id = $1`

export async function listPeople(reading: Reading, query: RouteQuery<Routes['listPeople']>): Promise<RouteResult<Routes['listPeople']>> {
  const after = readCursor(query.cursor, ['text', 'id'])
  const rows = await reading.rows<PersonRow>(
    `${SELECT} AND ($2::uuid IS NULL OR EXISTS (SELECT 1 FROM person_warehouse x WHERE x.organisation_id = $1 AND x.person_id = p.id AND x.warehouse_id = $2))
       AND ($3::text IS NULL OR p.role = $3) AND ($4::text IS NULL OR (p.name, p.id) > ($4, $5::uuid))
     ORDER BY p.name, p.id LIMIT $6`,
    [query.warehouseId ?? null, query.role ?? null, after?.[0] ?? null, after?.[1] ?? null, query.limit + 1],
  )
  return pageOf(
    rows,
    query.limit,
    (row) => [row.name, row.id],
    (row) => row,
  )
}

export function getPerson(reading: Reading, personId: string): Promise<Person> {
  return reading.one<PersonRow>('person', `${SELECT} AND p.id = $2`, [personId])
}

async function putWarehouses(changing: Changing, personId: string, warehouseIds: readonly string[]): Promise<void> {
  await changing.run(`DELETE FROM person_warehouse WHERE organisation_id = $1 AND person_id = $2`, [personId])
  const added = await changing.run(
    `INSERT INTO person_warehouse (organisation_id, person_id, warehouse_id)
     SELECT organisation_id, $2, id FROM warehouse WHERE organisation_id = $1 AND id = ANY($3::uuid[])`,
    [personId, warehouseIds],
  )
  if (added !== new Set(warehouseIds).size)
    throw new InvalidError('UNKNOWN_WAREHOUSE', 'One of these warehouses is not here.', '/warehouseIds')
}

export async function createPerson(changing: Changing, body: RouteBody<Routes['createPerson']>): Promise<Person> {
  if (body.password !== undefined) refuseCommonPassword(body.password, '/password')
  const id = body.id ?? newId()
  const { names, places, values } = insertion(COLUMNS, body, 4)
  await changing.run(`INSERT INTO person (organisation_id, id, created_at${names}) VALUES ($1, $2, $3${places})`, [
    id,
    changing.now,
    ...values,
  ])
  await putWarehouses(changing, id, body.warehouseIds)
  if (body.password !== undefined) await storePassword(changing, id, body.password, null)
  const after = await getPerson(changing, id)
  changing.note({ action: 'create', subjectKind: 'person', subjectId: id, after })
  return after
}

async function change(changing: Changing, personId: string, action: string, work: (before: Person) => Promise<void>): Promise<Person> {
  await changing.rows(`SELECT id FROM person WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [personId])
  const before = await getPerson(changing, personId)
  if (before.anonymised) throw new ConflictError('ANONYMISED', 'This person’s name was taken away for good. Add them anew.')
  await work(before)
  const after = await getPerson(changing, personId)
  changing.note({ action, subjectKind: 'person', subjectId: personId, before, after })
  return after
}

export function patchPerson(changing: Changing, personId: string, body: RouteBody<Routes['patchPerson']>): Promise<Person> {
  return change(changing, personId, 'change', async (before) => {
    requireVersion(body.version, before.version)
    await keepOneAdministrator(changing, before, body)
    await keepRemindersGoing(changing, before, body)
    await keepOrdersInReach(changing, before, body)
    const { set, values } = assignments(COLUMNS, body, 3)
    if (body.disabled !== undefined && body.disabled !== before.disabled) {
      set.push(`disabled_at = ${body.disabled ? `$${3 + values.length}` : 'NULL'}`)
      if (body.disabled) values.push(changing.now)
    }
    await changing.run(`UPDATE person SET ${[...set, 'version = version + 1'].join(', ')} WHERE organisation_id = $1 AND id = $2`, [
      personId,
      ...values,
    ])
    if (body.disabled === true)
      await changing.run(
        `UPDATE session SET ended_at = clock_timestamp() WHERE organisation_id = $1 AND person_id = $2 AND ended_at IS NULL`,
        [personId],
      )
    if (body.warehouseIds) await putWarehouses(changing, personId, body.warehouseIds)
    // A link that went to a mistyped address opens nothing any more.
    if (body.email !== undefined && body.email !== before.email) await endAccountLinks(changing, personId)
    await planAnew(changing, before, body)
  })
}

export async function setPassword(changing: Changing, personId: string, newPassword: string): Promise<{ done: true }> {
  refuseCommonPassword(newPassword, '/newPassword')
  await storePassword(changing, personId, newPassword, null)
  return { done: true }
}

export function addAbsence(changing: Changing, personId: string, body: RouteBody<Routes['addAbsence']>): Promise<Person> {
  return change(changing, personId, 'add absence', async () => {
    if (body.coverPersonId === personId) throw new InvalidError('OWN_COVER', 'Nobody covers for themselves.', '/coverPersonId')
    if (body.coverPersonId !== null) await getPerson(changing, body.coverPersonId)
    await changing.run(
      `INSERT INTO absence (organisation_id, id, person_id, from_date, to_date, cover_person_id) VALUES ($1, $2, $3, $4, $5, $6)`,
      [newId(), personId, body.fromDate, body.toDate, body.coverPersonId],
    )
  })
}

export function addInstruction(changing: Changing, personId: string, body: RouteBody<Routes['addInstruction']>): Promise<Person> {
  return change(changing, personId, 'add instruction', async () => {
    await changing.one('machine type', `SELECT id FROM machine_type WHERE organisation_id = $1 AND id = $2`, [body.machineTypeId])
    await changing.run(
      `INSERT INTO instruction (organisation_id, id, person_id, machine_type_id, instructed_on, instructed_by) VALUES ($1, $2, $3, $4, $5, $6)`,
      [newId(), personId, body.machineTypeId, body.instructedOn, body.instructedBy],
    )
  })
}

/** @param what  absence or instruction: names of tables, never from outside */
export function removeOf(changing: Changing, what: 'absence' | 'instruction', personId: string, id: string): Promise<Person> {
  return change(changing, personId, `remove ${what}`, async () => {
    await changing.one(what, `DELETE FROM ${what} WHERE organisation_id = $1 AND person_id = $2 AND id = $3 RETURNING id`, [personId, id])
  })
}
