import { randomBytes } from 'node:crypto'
import { AppError, InvalidError, newId } from '@tapewarden/platform'
import type { RouteBody, RouteResult, Routes } from '@tapewarden/shared'
import type { Who } from '../http/call.js'
import { tokenHashOf } from '../sessions/identities.js'
import { passwordFits } from '../sessions/passwords.js'
import type { Asking, Changing, Work } from '../use/work.js'
import { MAY_WORK_THERE } from './tablet-identities.js'

/** So many wrong codes are free; each further one doubles the wait, from a minute to an hour. */
const FREE_TRIES = 5
const LONGEST_WAIT_MINUTES = 60
const TURN_DAYS = 30

interface PersonRow extends Record<string, unknown> {
  name: string
  hash: string | null
  wrong: number
  waitSeconds: number
}
type Turn = RouteResult<Routes['beginTurn']>
type Judged = { right: true; turn: Turn } | { right: false; error: AppError }

/** The person's row is locked, so that many tries at once are one after another. Another person's tries are not touched by it. */
async function personOf(changing: Changing, tabletId: string, personId: string): Promise<PersonRow> {
  return changing.one<PersonRow>(
    'person',
    `SELECT p.name, p.short_code_hash AS hash, p.short_code_wrong AS wrong,
       GREATEST(0, ceil(extract(epoch FROM COALESCE(p.short_code_waits_until, clock_timestamp()) - clock_timestamp())))::int AS "waitSeconds"
     FROM person p JOIN shared_tablet t ON t.organisation_id = p.organisation_id AND t.id = $3
     WHERE p.organisation_id = $1 AND p.id = $2 AND ${MAY_WORK_THERE} FOR UPDATE OF p`,
    [personId, tabletId],
  )
}

function waits({ name, waitSeconds }: PersonRow): AppError {
  const minutes = Math.ceil(waitSeconds / 60)
  return new AppError(
    'too_many',
    'CODE_WAITS',
    `Too many wrong codes for ${name}: the next try is free in ${minutes} ${minutes === 1 ? 'minute' : 'minutes'}. Everybody else can go on.`,
    undefined,
    { retryAfterSeconds: waitSeconds },
  )
}

async function countWrong(changing: Changing, personId: string, person: PersonRow): Promise<AppError> {
  const wrong = person.wrong + 1
  const minutes = wrong < FREE_TRIES ? 0 : Math.min(LONGEST_WAIT_MINUTES, 2 ** (wrong - FREE_TRIES))
  await changing.run(
    `UPDATE person SET short_code_wrong = $3, short_code_waits_until = CASE WHEN $4 = 0 THEN NULL ELSE clock_timestamp() + make_interval(mins => $4) END
     WHERE organisation_id = $1 AND id = $2`,
    [personId, wrong, minutes],
  )
  changing.note({ action: 'wrong short code', subjectKind: 'person', subjectId: personId, after: { wrong } })
  if (minutes > 0) return waits({ ...person, waitSeconds: minutes * 60 })
  return new AppError('forbidden', 'WRONG_CODE', `This is not the code of ${person.name}.`)
}

/** One turn a person and tablet: an earlier one ends, what it had typed goes under the new one. */
async function openTurn(changing: Changing, tablet: NonNullable<Who['tablet']>, personId: string, name: string): Promise<Turn> {
  await changing.run(
    `UPDATE person SET short_code_wrong = 0, short_code_waits_until = NULL WHERE organisation_id = $1 AND id = $2 AND short_code_wrong > 0`,
    [personId],
  )
  await changing.run(
    `UPDATE session SET ended_at = clock_timestamp() WHERE organisation_id = $1 AND person_id = $2 AND tablet_id = $3 AND ended_at IS NULL`,
    [personId, tablet.id],
  )
  const secret = randomBytes(32).toString('base64url')
  const id = newId()
  const { expiresAt } = await changing.one<{ expiresAt: string }>(
    'session',
    `INSERT INTO session (organisation_id, id, person_id, token_hash, created_at, last_seen_at, expires_at, user_agent, tablet_id)
     SELECT $1, $2, $3, $4, t.now, t.now, t.now + make_interval(days => $5), $6, $7 FROM (SELECT clock_timestamp() AS now) t
     RETURNING expires_at AS "expiresAt"`,
    [id, personId, tokenHashOf(secret), TURN_DAYS, `Shared tablet ${tablet.name}`, tablet.id],
  )
  // From here on it is this person who acts, not the tablet by itself.
  Object.assign(changing.who, { personId, name, sessionId: id })
  changing.note({ action: 'begin turn', subjectKind: 'session', subjectId: id })
  return { secret, person: { id: personId, name }, expiresAt }
}

/** @throws AppError after what was counted has been kept */
export async function beginTurn(work: Work, asking: Asking, body: RouteBody<Routes['beginTurn']>): Promise<Turn> {
  const { tablet } = asking.who
  if (!tablet) throw new Error('beginTurn was asked by something that is no tablet')
  const who: Who = { ...asking.who }
  const judged = await work.change<Judged>({ ...asking, who }, async (changing) => {
    const person = await personOf(changing, tablet.id, body.personId)
    if (person.hash === null)
      return {
        right: false,
        error: new InvalidError('NO_CODE', `${person.name} has set no code yet: under their own sign-in, in their settings.`),
      }
    if (person.waitSeconds > 0) return { right: false, error: waits(person) }
    if (!(await passwordFits(person.hash, body.code))) return { right: false, error: await countWrong(changing, body.personId, person) }
    return { right: true, turn: await openTurn(changing, tablet, body.personId, person.name) }
  })
  if (!judged.right) throw judged.error
  return judged.turn
}
