/** Takes a person's name and everything personal away for good. What they did stays, and the history's chain stays whole. */
import { ConflictError, InvalidError, newId } from '@tapewarden/platform'
import type { Person } from '@tapewarden/shared'
import type { Changing } from '../use/work.js'
import { getPerson } from './people.js'

/** Tells two of them apart and says nothing of who they were. */
const tagOf = (personId: string): string => `Former person ${personId.slice(-4).toUpperCase()}`

/** Rows that are theirs alone. */
const GONE = [
  'session',
  'account_link',
  'saved_view',
  'calendar_feed',
  'passkey',
  'external_identity',
  'second_factor',
  'recovery_code',
  'absence',
  'phone_word',
  'person_warehouse',
]
/** Where a name was written down as it was then: column by table. */
const NAMED: Readonly<Record<string, string>> = {
  instruction: 'instructed_by',
  service_record: 'person_name',
  stoppage: 'reported_by',
  work_entry: 'settled_by',
  account_link: 'invited_by',
}
/** JSON that may hold a name as a value of its own. */
const NAMED_IN_JSON: readonly (readonly [table: string, column: string])[] = [
  ['work_order_task', 'answers'],
  ['work_order', 'function_check'],
  ['work_entry', 'content'],
  ['message', 'content'],
  ['import_part', 'rows'],
  ['import_part', 'faults'],
  ['import_part', 'effects'],
]

async function refuseWhoIsNeeded(changing: Changing, person: Person, name: string): Promise<void> {
  if (person.id === changing.who.personId)
    throw new InvalidError('OWN_PERSON', 'Nobody does this to themselves. Another administrator can.')
  if (person.anonymised) throw new ConflictError('ANONYMISED', 'This has been done.')
  if (!person.disabled)
    throw new ConflictError('STILL_LET_IN', 'Disable this person first; then their work can be given to others in quiet.')
  if (person.name !== name) throw new InvalidError('NAME_DIFFERS', 'The name that was typed is not this person’s.', '/name')
  const places = await changing.rows<{ name: string }>(
    `SELECT name FROM warehouse WHERE organisation_id = $1 AND (first_person_id = $2 OR second_person_id = $2) ORDER BY name`,
    [person.id],
  )
  if (places.length > 0)
    throw new ConflictError(
      'NAMED_FOR_REMINDERS',
      `Reminders of ${places.map((place) => place.name).join(', ')} go to this person. Name another there first.`,
    )
}

async function forgetMail(changing: Changing, personId: string): Promise<void> {
  await changing.run(
    `UPDATE message SET to_address = NULL, subject = NULL, content = '{}', last_error = NULL, lease_until = NULL,
       state = CASE WHEN state IN ('pending', 'claimed', 'handing_over', 'uncertain') THEN 'expired' ELSE state END
     WHERE organisation_id = $1 AND person_id = $2`,
    [personId],
  )
  await changing.run(`UPDATE bounce SET address = '', diagnostic = '' WHERE organisation_id = $1 AND person_id = $2`, [personId])
}

/** @param names as they may stand somewhere: the person's name and address */
async function forgetNames(changing: Changing, personId: string, names: readonly string[], tag: string): Promise<void> {
  for (const [table, column] of Object.entries(NAMED))
    await changing.run(`UPDATE ${table} SET ${column} = $3 WHERE organisation_id = $1 AND ${column} = ANY($2::text[])`, [names, tag])
  await changing.run(`UPDATE service_record SET person_name = $3 WHERE organisation_id = $1 AND person_id = $2 AND person_name <> ''`, [
    personId,
    tag,
  ])
  for (const [table, column] of NAMED_IN_JSON)
    await changing.run(
      `UPDATE ${table} SET ${column} = json_without(${column}, $2::text[], $3)
       WHERE organisation_id = $1 AND json_without(${column}, $2::text[], $3) IS DISTINCT FROM ${column}`,
      [names, tag],
    )
  // Answers that are kept for a week so that a repeat gets the same.
  await changing.run(
    `DELETE FROM idempotency_key WHERE organisation_id = $1 AND (actor_id = $2 OR json_without(response, $3::text[], '') IS DISTINCT FROM response)`,
    [personId, names],
  )
}

async function redactHistory(changing: Changing, personId: string, names: readonly string[], tag: string): Promise<void> {
  const id = newId()
  const redacted = await changing.scope.rows<{ id: string; hash: string }>(
    `SELECT entry_id AS id, content_hash AS hash FROM audit_redact_person($1, $2, $3::text[], $4)`,
    [personId, id, names, tag],
  )
  const hashes = Object.fromEntries(redacted.map((entry) => [entry.id, entry.hash]))
  changing.note({ id, action: 'anonymise', subjectKind: 'person', subjectId: personId, after: { redacted: hashes } })
}

/** @param name  as it is now, typed by who asks: this cannot be taken back */
export async function anonymisePerson(changing: Changing, personId: string, name: string): Promise<Person> {
  await changing.rows(`SELECT id FROM person WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [personId])
  const person = await getPerson(changing, personId)
  await refuseWhoIsNeeded(changing, person, name)
  const tag = tagOf(personId)
  const names = [person.name, ...(person.email === null ? [] : [person.email])]
  for (const table of GONE) await changing.run(`DELETE FROM ${table} WHERE organisation_id = $1 AND person_id = $2`, [personId])
  await forgetMail(changing, personId)
  await forgetNames(changing, personId, names, tag)
  await changing.run(
    `UPDATE person SET name = $3, email = NULL, password_hash = NULL, short_code_hash = NULL, short_code_set_at = NULL, mail_refused_address = NULL, mail_refused_reason = NULL,
       anonymised_at = $4, version = version + 1 WHERE organisation_id = $1 AND id = $2`,
    [personId, tag, changing.now],
  )
  await redactHistory(changing, personId, names, tag)
  return getPerson(changing, personId)
}
