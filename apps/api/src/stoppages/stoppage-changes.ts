/** What is written down of a stoppage: told, put right, closed. */
import { ConflictError, InvalidError, newId } from '@tapewarden/platform'
import type { RouteBody, Routes, Stoppage } from '@tapewarden/shared'
import { sayLocalMoment } from '../use/local-words.js'
import { assignments, type Columns, insertion, requireVersion } from '../use/patch.js'
import { placeOf } from '../use/reach.js'
import type { Changing } from '../use/work.js'
import { checkMoments } from './moments.js'
import { getStoppage } from './stoppages.js'

const COLUMNS: Columns = {
  failedAt: 'failed_at',
  noticedAt: 'noticed_at',
  reportedAt: 'reported_at',
  workBegunAt: 'work_begun_at',
  repairedAt: 'repaired_at',
  checkedAt: 'checked_at',
  backInUseAt: 'back_in_use_at',
  planned: 'planned',
  failureMode: 'failure_mode',
  cause: 'cause',
  noticedHow: 'noticed_how',
  note: 'note',
}

async function componentTypeId(changing: Changing, key: string | null | undefined): Promise<string | null> {
  if (!key) return null
  const row = await changing.maybeOne<{ id: string }>(`SELECT id FROM component_type WHERE organisation_id = $1 AND key = $2`, [key])
  if (!row) throw new InvalidError('UNKNOWN_COMPONENT_TYPE', 'There is no such component type.', '/componentKey')
  return row.id
}

interface Spot extends Record<string, unknown> {
  warehouseId: string
  stationId: string | null
}

/** Where the machine stood at a moment: hours stopped are those of the place where it stood still. */
function spotAt(changing: Changing, machineId: string, at: string): Promise<Spot | null> {
  return changing.maybeOne<Spot>(
    `SELECT warehouse_id AS "warehouseId", station_id AS "stationId" FROM placement
     WHERE organisation_id = $1 AND machine_id = $2 AND from_at <= $3 AND (to_at IS NULL OR to_at > $3) ORDER BY from_at DESC LIMIT 1`,
    [machineId, at],
  )
}

const LONGEST_NOTE = 20_000
type Report = RouteBody<Routes['reportStoppage']>

/** When somebody told of it: now, unless it was planned, or work on it had begun before it was told. A clock that is ahead tells no sooner than it failed. */
function toldAt(body: Report, noticedAt: string | null, failedAt: string, now: Date): string | null {
  const worked = body.workBegunAt ?? body.repairedAt ?? body.checkedAt ?? body.backInUseAt
  if (body.planned || worked) return null
  return new Date(Math.max(now.getTime(), Date.parse(noticedAt ?? failedAt))).toISOString()
}

/** A machine that stands still already is not stopped twice: a second report is added to the first. */
export async function reportStoppage(changing: Changing, body: Report): Promise<Stoppage> {
  const place = await placeOf(changing, body.machineId, true)
  const failedAt = body.failedAt ?? changing.now.toISOString()
  const { warehouseId, stationId } = (await spotAt(changing, body.machineId, failedAt)) ?? place
  if (warehouseId === null) throw new InvalidError('NOT_PLACED', 'This machine stands in no warehouse.', '/machineId')
  const zone = place.zone ?? 'UTC'
  checkMoments({ ...body, failedAt }, {}, changing.now, zone)
  const again = await existing(changing, body, zone)
  if (again) return again
  const id = body.id ?? newId()
  const noticedAt = body.noticedAt === undefined ? failedAt : body.noticedAt
  const reportedAt = body.reportedAt === undefined ? toldAt(body, noticedAt, failedAt, changing.now) : body.reportedAt
  const { names, places, values } = insertion(COLUMNS, { ...body, failedAt, noticedAt, reportedAt }, 10)
  await changing.run(
    `INSERT INTO stoppage (organisation_id, id, machine_id, warehouse_id, station_id, reported_by, component_type_id, waits, created_at${names})
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8::jsonb, $9${places})`,
    [
      id,
      body.machineId,
      warehouseId,
      stationId,
      body.reportedBy ?? changing.who.name,
      await componentTypeId(changing, body.componentKey),
      JSON.stringify(body.waits ?? []),
      changing.now,
      ...values,
    ],
  )
  const after = await getStoppage(changing, id)
  changing.note({ action: 'report', subjectKind: 'stoppage', subjectId: id, after })
  return after
}

const open = (changing: Changing, machineId: string) =>
  changing.maybeOne<{ id: string; note: string; failedAt: string }>(
    `SELECT id, note, failed_at AS "failedAt" FROM stoppage WHERE organisation_id = $1 AND machine_id = $2 AND back_in_use_at IS NULL ORDER BY failed_at LIMIT 1`,
    [machineId],
  )

const known = (word: string | undefined, before = ''): string =>
  word === undefined || word === 'unknown' ? '' : before + word.replaceAll('_', ' ')

async function existing(changing: Changing, body: Report, zone: string): Promise<Stoppage | null> {
  if (body.id !== undefined) {
    const sent = await changing.maybeOne<{ id: string }>(
      `SELECT id FROM stoppage WHERE organisation_id = $1 AND id = $2 AND machine_id = $3`,
      [body.id, body.machineId],
    )
    if (sent) return getStoppage(changing, sent.id)
  }
  if (body.backInUseAt) return null
  const first = await open(changing, body.machineId)
  if (!first) return null
  const earlier = body.failedAt !== undefined && Date.parse(body.failedAt) < Date.parse(first.failedAt)
  const since = earlier ? `, who says since ${sayLocalMoment(new Date(body.failedAt ?? ''), zone)}` : ''
  const words = [[known(body.failureMode), known(body.cause, 'cause ')].filter((text) => text !== '').join(', '), body.note]
    .filter((text) => text)
    .join(': ')
  const note = [first.note, `Reported again by ${body.reportedBy ?? changing.who.name}${since}${words ? `: ${words}` : ''}`]
    .filter((text) => text !== '')
    .join('\n')
  await changing.run(`UPDATE stoppage SET note = $3, version = version + 1 WHERE organisation_id = $1 AND id = $2`, [
    first.id,
    note.slice(0, LONGEST_NOTE),
  ])
  changing.note({ action: 'report again', subjectKind: 'stoppage', subjectId: first.id, after: body })
  return getStoppage(changing, first.id)
}

const MACHINE_OF = `SELECT m.id FROM machine m JOIN stoppage x ON x.organisation_id = m.organisation_id AND x.machine_id = m.id
  WHERE m.organisation_id = $1 AND x.id = $2 FOR UPDATE OF m`

export async function patchStoppage(changing: Changing, stoppageId: string, body: RouteBody<Routes['patchStoppage']>): Promise<Stoppage> {
  // The machine first, as a report locks it.
  if (body.backInUseAt === null) await changing.rows(MACHINE_OF, [stoppageId])
  const before = await locked(changing, stoppageId)
  requireVersion(body.version, before.version)
  checkMoments(body, before, changing.now, before.warehouse.zone)
  if (body.backInUseAt === null && !before.open) await requireNoOther(changing, before)
  const { set, values } = assignments(COLUMNS, body, 3)
  const assign = (column: string, value: string | null, as = ''): void => {
    set.push(`${column} = $${3 + values.push(value) - 1}${as}`)
  }
  if (body.reportedBy !== undefined) assign('reported_by', body.reportedBy)
  if (body.waits) assign('waits', JSON.stringify(body.waits), '::jsonb')
  if (body.componentKey !== undefined) assign('component_type_id', await componentTypeId(changing, body.componentKey))
  const spot = body.failedAt === undefined ? null : await spotAt(changing, before.machine.id, body.failedAt)
  if (spot) {
    assign('warehouse_id', spot.warehouseId)
    assign('station_id', spot.stationId)
  }
  await changing.run(`UPDATE stoppage SET ${[...set, 'version = version + 1'].join(', ')} WHERE organisation_id = $1 AND id = $2`, [
    stoppageId,
    ...values,
  ])
  const after = await getStoppage(changing, stoppageId)
  changing.note({ action: 'change', subjectKind: 'stoppage', subjectId: stoppageId, before, after })
  return after
}

async function locked(changing: Changing, stoppageId: string): Promise<Stoppage> {
  await changing.rows(`SELECT id FROM stoppage WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [stoppageId])
  return getStoppage(changing, stoppageId)
}

/** Opened again, it must be the only one: a machine stands still once. */
async function requireNoOther(changing: Changing, { machine, warehouse }: Stoppage): Promise<void> {
  const other = await open(changing, machine.id)
  if (!other) return
  const since = sayLocalMoment(new Date(other.failedAt), warehouse.zone)
  const message = `${machine.labelCode} stands still already, since ${since}: close that stoppage first, or write down when this one was back in use.`
  throw new ConflictError('STANDS_STILL_ALREADY', message, { errors: [{ pointer: '/backInUseAt', message }] })
}

export async function closeStoppage(changing: Changing, stoppageId: string, body: RouteBody<Routes['closeStoppage']>): Promise<Stoppage> {
  const before = await locked(changing, stoppageId)
  const { zone } = before.warehouse
  if (before.backInUseAt !== null)
    throw new ConflictError('CLOSED_ALREADY', `It was back in use on ${sayLocalMoment(new Date(before.backInUseAt), zone)} already.`)
  const backInUseAt = body.backInUseAt ?? changing.now.toISOString()
  checkMoments({ backInUseAt }, before, changing.now, zone)
  await changing.run(
    `UPDATE stoppage SET back_in_use_at = $3, cause = COALESCE($4, cause), note = trim(both E'\\n' from note || E'\\n' || $5), version = version + 1
     WHERE organisation_id = $1 AND id = $2`,
    [stoppageId, backInUseAt, body.cause ?? null, body.note ?? ''],
  )
  const after = await getStoppage(changing, stoppageId)
  changing.note({ action: 'close', subjectKind: 'stoppage', subjectId: stoppageId, before, after })
  return after
}

/** A remark that moves none of its moments; said twice in the same words, it stands there once. */
export async function noteOnStoppage(changing: Changing, stoppageId: string, remark: string): Promise<void> {
  const before = await locked(changing, stoppageId)
  if (before.note.split('\n').includes(remark)) return
  const note = [before.note, remark].filter((text) => text !== '').join('\n')
  await changing.run(`UPDATE stoppage SET note = $3, version = version + 1 WHERE organisation_id = $1 AND id = $2`, [
    stoppageId,
    note.slice(0, LONGEST_NOTE),
  ])
  changing.note({ action: 'remark', subjectKind: 'stoppage', subjectId: stoppageId, after: { remark } })
}
