/** A part's days as the books have them, put right: its clocks, and those of what follows from them, are worked out anew. */
import { InvalidError, NotFoundError } from '@tapewarden/platform'
import type { MachineComponent, RouteBody, Routes } from '@tapewarden/shared'
import { localDateOf } from '../use/local-day.js'
import { placeOf } from '../use/reach.js'
import type { Changing } from '../use/work.js'
import { componentOf, supersedeTasksOf, USED_STRIPS } from './components.js'

type Body = RouteBody<Routes['patchComponent']>
interface Days {
  newOn: string | null
  fittedOn: string | null
  removedOn: string | null
}

const given = <Value>(sent: Value | undefined, before: Value): Value => (sent === undefined ? before : sent)

/** New, then fitted, then taken out, then today. */
function checkOrder({ newOn, fittedOn, removedOn }: Days, today: string): void {
  for (const [day, pointer] of [
    [newOn, '/newOn'],
    [fittedOn, '/fittedOn'],
    [removedOn, '/removedOn'],
  ] as const)
    if (day !== null && day > today) throw new InvalidError('IN_THE_FUTURE', 'This lies in the future.', pointer)
  if (newOn !== null && fittedOn !== null && newOn > fittedOn)
    throw new InvalidError('NEW_AFTER_FITTING', `It cannot be new after it was fitted, on ${fittedOn}.`, '/newOn')
  const first = fittedOn ?? newOn
  if (removedOn !== null && first !== null && removedOn < first)
    throw new InvalidError('BEFORE_FITTING', `It cannot come out before ${first}, when it was fitted.`, '/removedOn')
}

/** No two of one kind in one machine at once, and no part in two machines. */
async function checkOverlap(changing: Changing, placementId: string, { fittedOn, removedOn }: Days): Promise<void> {
  const other = await changing.maybeOne<{ name: string; labelCode: string; fromDate: string | null; toDate: string | null }>(
    `SELECT t.name, m.label_code AS "labelCode", o.from_date AS "fromDate", o.to_date AS "toDate"
     FROM component_placement p JOIN component c ON c.organisation_id = $1 AND c.id = p.component_id
     JOIN component_placement o ON o.organisation_id = $1 AND o.id <> p.id
     JOIN component oc ON oc.organisation_id = $1 AND oc.id = o.component_id
     JOIN component_type t ON t.organisation_id = $1 AND t.id = oc.component_type_id
     JOIN machine m ON m.organisation_id = $1 AND m.id = o.machine_id
     WHERE p.organisation_id = $1 AND p.id = $2
       AND (o.component_id = p.component_id OR (o.machine_id = p.machine_id AND oc.component_type_id = c.component_type_id))
       AND COALESCE(o.from_date, '-infinity') < COALESCE($4::date, 'infinity') AND COALESCE($3::date, '-infinity') < COALESCE(o.to_date, 'infinity')
     ORDER BY o.from_date NULLS FIRST LIMIT 1`,
    [placementId, fittedOn, removedOn],
  )
  if (other)
    throw new InvalidError(
      'TWO_AT_ONCE',
      `${other.name} of ${other.labelCode} stands in the books from ${other.fromDate ?? 'before it was registered'} to ${other.toDate ?? 'now'}: the two would overlap. Put that one right first.`,
      '/fittedOn',
    )
}

/** A part that stood elsewhere before was new then already. */
async function checkNew(changing: Changing, componentId: string, newOn: string | null): Promise<void> {
  const { first } = await changing.one<{ first: string | null }>(
    'placement',
    `SELECT min(from_date) AS first FROM component_placement WHERE organisation_id = $1 AND component_id = $2`,
    [componentId],
  )
  if (newOn !== null && first !== null && newOn > first)
    throw new InvalidError('NEW_AFTER_FITTING', `It cannot be new after it was fitted, on ${first}.`, '/newOn')
}

/** What a part had done before its later placements follows from the earlier ones. */
async function carryUseOn(changing: Changing, componentId: string): Promise<void> {
  const placements = await changing.rows<{ id: string; before: number; used: number }>(
    `SELECT cp.id, cp.used_strips_before AS before, (${USED_STRIPS}) - cp.used_strips_before AS used
     FROM component_placement cp WHERE cp.organisation_id = $1 AND cp.component_id = $2
     ORDER BY cp.from_date NULLS FIRST, cp.to_date NULLS LAST`,
    [componentId],
  )
  let carried = placements[0]?.before ?? 0
  for (const { id, before, used } of placements) {
    if (before !== carried)
      await changing.run(`UPDATE component_placement SET used_strips_before = $3 WHERE organisation_id = $1 AND id = $2`, [id, carried])
    carried += used
  }
}

export async function patchComponent(changing: Changing, machineId: string, placementId: string, body: Body): Promise<MachineComponent> {
  const place = await placeOf(changing, machineId, true)
  const today = localDateOf(changing.now, place.zone ?? 'UTC')
  const before = await componentOf(changing, machineId, placementId)
  if (!before) throw new NotFoundError('component in this machine')
  if (before.toDate === null && (body.removedOn !== undefined || body.reason !== undefined))
    throw new InvalidError('STILL_IN_PLACE', 'It is in place. Take it out, with the day and the reason.', '/removedOn')
  const days: Days = {
    newOn: given(body.newOn, before.newOn),
    fittedOn: given(body.fittedOn, before.fromDate),
    removedOn: given(body.removedOn, before.toDate),
  }
  checkOrder(days, today)
  await checkOverlap(changing, placementId, days)
  await changing.run(
    `UPDATE component_placement SET from_date = $3, to_date = $4, removal_reason = $5 WHERE organisation_id = $1 AND id = $2`,
    [placementId, days.fittedOn, days.removedOn, body.reason ?? before.removalReason],
  )
  await changing.run(`UPDATE component SET new_on = $3, note = $4 WHERE organisation_id = $1 AND id = $2`, [
    before.componentId,
    days.newOn,
    body.note ?? before.note,
  ])
  await checkNew(changing, before.componentId, days.newOn)
  await carryUseOn(changing, before.componentId)
  const otherClock = before.toDate === null && (days.newOn !== before.newOn || days.fittedOn !== before.fromDate)
  if (otherClock) await supersedeTasksOf(changing, machineId, before.componentType.id, today, 'a part put right in the books')
  const after = await componentOf(changing, machineId, placementId)
  changing.note({ action: 'put component right', subjectKind: 'machine', subjectId: machineId, before, after })
  changing.datesMayMove(place.warehouseId)
  return after
}
