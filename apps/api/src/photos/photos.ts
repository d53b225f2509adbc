import { ConflictError, ForbiddenError, InvalidError, NotFoundError } from '@tapewarden/platform'
import {
  type FileAnswer,
  type Photo,
  PHOTO_MOST_BYTES,
  type RouteBody,
  type RouteQuery,
  type RouteResult,
  type Routes,
} from '@tapewarden/shared'
import { placeOf } from '../use/reach.js'
import type { Changing, Reading } from '../use/work.js'
import { readJpeg } from './jpeg.js'

/** A phone's clock may run ahead by so much. */
const AHEAD_MS = 5 * 60_000
const MOST_EACH = 200
/** Of one machine: pictures are small, but not for nothing. */
const MOST_OF_MACHINE = 500

/** Whoever may see where the machine stands now sees its photos, and nobody else does. */
const SELECT = `SELECT f.id, f.machine_id AS "machineId", f.work_order_id AS "workOrderId", f.caption, f.width_px AS "widthPx", f.height_px AS "heightPx",
    f.taken_at AS "takenAt", who.name AS "personName"
  FROM photo f JOIN person who ON who.organisation_id = f.organisation_id AND who.id = f.person_id
  LEFT JOIN placement p ON p.organisation_id = f.organisation_id AND p.machine_id = f.machine_id AND p.to_at IS NULL
  WHERE f.organisation_id = $1 AND ($2::uuid[] IS NULL OR p.warehouse_id = ANY($2))`

type Row = Photo & Record<string, unknown>

function photoOf(reading: Reading, photoId: string): Promise<Row | null> {
  return reading.maybeOne<Row>(`${SELECT} AND f.id = $3`, [reading.who.warehouseIds, photoId])
}

async function requireOrder(changing: Changing, workOrderId: string, machineId: string): Promise<void> {
  const order = await changing.maybeOne(`SELECT id FROM work_order WHERE organisation_id = $1 AND id = $2 AND machine_id = $3`, [
    workOrderId,
    machineId,
  ])
  if (!order) throw new InvalidError('UNKNOWN_WORK_ORDER', 'This machine has no such work order.', '/workOrderId')
}

export async function addPhoto(changing: Changing, body: RouteBody<Routes['addPhoto']>): Promise<Photo> {
  await placeOf(changing, body.machineId, true)
  const known = await photoOf(changing, body.id)
  if (known) {
    if (known.machineId !== body.machineId) throw new ConflictError('ALREADY_THERE', 'Another photo has this id.')
    return known
  }
  const takenAt = new Date(body.takenAt)
  if (takenAt.getTime() > changing.now.getTime() + AHEAD_MS)
    throw new InvalidError('IN_THE_FUTURE', 'This photo lies in the future: check the clock of the phone.', '/takenAt')
  if (body.workOrderId !== null) await requireOrder(changing, body.workOrderId, body.machineId)
  const picture = readJpeg(Buffer.from(body.content, 'base64'))
  if (!picture || picture.widthPx > 4096 || picture.heightPx > 4096 || picture.bytes.length > PHOTO_MOST_BYTES)
    throw new InvalidError('NOT_A_PHOTO', 'This is no JPEG of at most 1 MiB and 4096 pixels a side.', '/content')
  const { count } = await changing.one<{ count: number }>(
    'machine',
    `SELECT count(*)::int AS count FROM photo WHERE organisation_id = $1 AND machine_id = $2`,
    [body.machineId],
  )
  if (count >= MOST_OF_MACHINE) throw new ConflictError('TOO_MANY_PHOTOS', `This machine has ${count} photos; remove some first.`)
  await changing.run(
    `INSERT INTO photo (organisation_id, id, machine_id, work_order_id, person_id, caption, width_px, height_px, content, taken_at, received_at)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)`,
    [
      body.id,
      body.machineId,
      body.workOrderId,
      changing.who.personId,
      body.caption,
      picture.widthPx,
      picture.heightPx,
      picture.bytes,
      takenAt > changing.now ? changing.now : takenAt,
      changing.now,
    ],
  )
  changing.note({
    action: 'photo',
    subjectKind: 'machine',
    subjectId: body.machineId,
    after: { photoId: body.id, workOrderId: body.workOrderId },
  })
  return (await photoOf(changing, body.id)) ?? missing()
}

function missing(): never {
  throw new NotFoundError('photo')
}

export async function listPhotos(reading: Reading, query: RouteQuery<Routes['listPhotos']>): Promise<RouteResult<Routes['listPhotos']>> {
  const items = await reading.rows<Row>(
    `${SELECT} AND ($3::uuid IS NULL OR f.machine_id = $3) AND ($4::uuid IS NULL OR f.work_order_id = $4) ORDER BY f.taken_at DESC, f.id DESC LIMIT ${MOST_EACH}`,
    [reading.who.warehouseIds, query.machineId ?? null, query.workOrderId ?? null],
  )
  return { items }
}

export async function getPhoto(reading: Reading, photoId: string): Promise<FileAnswer> {
  if (!(await photoOf(reading, photoId))) throw new NotFoundError('photo')
  const { content } = await reading.one<{ content: Buffer }>('photo', `SELECT content FROM photo WHERE organisation_id = $1 AND id = $2`, [
    photoId,
  ])
  return { fileName: `${photoId}.jpg`, mediaType: 'image/jpeg', encoding: 'base64', content: content.toString('base64') }
}

/** By who took it, or by the desk. */
export async function removePhoto(changing: Changing, photoId: string): Promise<{ done: true }> {
  const photo = await photoOf(changing, photoId)
  if (!photo) throw new NotFoundError('photo')
  const { mine } = await changing.one<{ mine: boolean }>(
    'photo',
    `SELECT person_id = $3 AS mine FROM photo WHERE organisation_id = $1 AND id = $2`,
    [photoId, changing.who.personId],
  )
  if (!mine && changing.who.role === 'technician') throw new ForbiddenError('NOT_YOURS', 'Only who took it, or a manager, removes a photo.')
  await changing.run(`DELETE FROM photo WHERE organisation_id = $1 AND id = $2`, [photoId])
  changing.note({ action: 'remove photo', subjectKind: 'machine', subjectId: photo.machineId, before: photo })
  return { done: true }
}
