import { NotFoundError } from '@tapewarden/platform'
import type { PackerPage, ParsedEvidenceItem, RouteBody, Routes } from '@tapewarden/shared'
import { takeIn } from '../evidence/take-in.js'
import type { Who } from '../http/call.js'
import { closeStoppage, noteOnStoppage, reportStoppage } from '../stoppages/stoppage-changes.js'
import { localDateOf } from '../use/local-day.js'
import { sayLocalMoment } from '../use/local-words.js'
import type { Changing, Reading, Work } from '../use/work.js'

/** No person of ours: rows that name it show no name. */
const NOBODY = '00000000-0000-0000-0000-000000000000'

/** What the floor says, in the words of the review. */
const WRONG = {
  no_water: { failureMode: 'no_water' },
  wrong_tape: { failureMode: 'does_not_stick', note: 'wrong or damp tape' },
  jammed: { failureMode: 'jammed' },
  cuts_badly: { failureMode: 'cuts_badly' },
  dead: { failureMode: 'dead' },
  smell_or_smoke: { failureMode: 'smell_or_smoke' },
} as const

export interface Labelled {
  machineId: string
  who: Who
}

/** The holder of a label may touch its one machine, where that stands now. @throws NotFoundError for a label that is none, or was cancelled */
export async function labelled(work: Work, token: string): Promise<Labelled> {
  const { rows } = await work.database.pool.query<{ organisation_id: string; machine_id: string }>(
    'SELECT organisation_id, machine_id FROM directory_label($1)',
    [token],
  )
  const [found] = rows
  if (!found) throw new NotFoundError('label')
  const place = await work.database.withOrganisationSql(found.organisation_id, (scope) =>
    scope.rows<{ warehouse_id: string }>(
      `SELECT p.warehouse_id FROM placement p JOIN machine m ON m.organisation_id = p.organisation_id AND m.id = p.machine_id
       WHERE p.organisation_id = $1 AND p.machine_id = $2 AND p.to_at IS NULL AND m.status <> 'retired'`,
      [found.organisation_id, found.machine_id],
    ),
  )
  if (!place[0]) throw new NotFoundError('label')
  const who: Who = {
    organisationId: found.organisation_id,
    personId: NOBODY,
    name: 'a packer, by the label',
    role: 'instructed',
    warehouseIds: [place[0].warehouse_id],
    electricallyQualified: false,
    units: 'si',
    sessionId: null,
    roundMonth: null,
  }
  return { machineId: found.machine_id, who }
}

type Held = NonNullable<PackerPage['report']>['held']

/**
 * Who has a machine that stands still in hand, of stoppage x, its order o and machine m: what was opened is handed back by them, after
 * the function check. An order that has ended without handing back, and moments of an order given back, hold nothing.
 */
const HELD = `CASE WHEN m.status = 'tagged_out' THEN 'tagged_out'
  WHEN o.state IN ('under_way', 'waiting') OR (o.id IS NULL AND (x.planned OR (x.work_begun_at IS NOT NULL AND x.repaired_at IS NULL))) THEN 'worked_on' END`
const ITS_ORDER = `LEFT JOIN work_order o ON o.organisation_id = x.organisation_id AND o.id = x.work_order_id`

interface PageRow extends Record<string, unknown> {
  labelCode: string
  place: string | null
  supply: PackerPage['supply']
  heater: boolean
  counterKind: PackerPage['counterKind']
  contactName: string | null
  zone: string
  what: string | null
  since: string | null
  held: Held
}

export async function packerPage(reading: Reading, machineId: string): Promise<PackerPage> {
  const { zone, what, since, held, ...row } = await reading.one<PageRow>(
    'label',
    `SELECT m.label_code AS "labelCode", NULLIF(trim(concat_ws(' ', s.line, s.name)), '') AS place, t.supply, t.heater, t.counter_kind AS "counterKind",
       who.name AS "contactName", w.zone, x.failure_mode AS what, COALESCE(x.reported_at, x.failed_at) AS since, ${HELD} AS held
     FROM machine m JOIN machine_type t ON t.organisation_id = m.organisation_id AND t.id = m.machine_type_id
     JOIN placement p ON p.organisation_id = m.organisation_id AND p.machine_id = m.id AND p.to_at IS NULL
     JOIN warehouse w ON w.organisation_id = p.organisation_id AND w.id = p.warehouse_id
     LEFT JOIN station s ON s.organisation_id = p.organisation_id AND s.id = p.station_id
     LEFT JOIN person who ON who.organisation_id = w.organisation_id AND who.id = w.first_person_id AND who.disabled_at IS NULL
     LEFT JOIN LATERAL (SELECT y.* FROM stoppage y WHERE y.organisation_id = m.organisation_id AND y.machine_id = m.id
       AND y.back_in_use_at IS NULL ORDER BY y.failed_at LIMIT 1) x ON true
     ${ITS_ORDER}
     WHERE m.organisation_id = $1 AND m.id = $2`,
    [machineId],
  )
  const month = localDateOf(reading.now, zone).slice(0, 7)
  const tap = await reading.maybeOne(
    `SELECT id FROM evidence WHERE organisation_id = $1 AND machine_id = $2 AND kind = 'monthly_tap' AND from_date = $3::date AND state = 'counted' LIMIT 1`,
    [machineId, `${month}-01`],
  )
  return {
    ...row,
    report: what === null || since === null ? null : { what, since, held },
    month,
    monthlyTapGiven: tap !== null,
    serverTime: reading.now.toISOString(),
  }
}

/** A second report of what is open joins it. */
export async function packerReport(changing: Changing, machineId: string, body: RouteBody<Routes['packerReport']>): Promise<PackerPage> {
  await reportStoppage(changing, { id: body.id, machineId, noticedHow: 'packer', reportedBy: changing.who.name, ...WRONG[body.what] })
  return packerPage(changing, machineId)
}

/** Ends what nobody has in hand. Of what somebody has, the word is kept beside it with its moment, and they end it. */
export async function packerWorksAgain(changing: Changing, machineId: string): Promise<PackerPage> {
  const open = await changing.rows<{ id: string; zone: string; held: Held }>(
    `SELECT x.id, w.zone, ${HELD} AS held FROM stoppage x
     JOIN machine m ON m.organisation_id = x.organisation_id AND m.id = x.machine_id
     JOIN warehouse w ON w.organisation_id = x.organisation_id AND w.id = x.warehouse_id ${ITS_ORDER}
     WHERE x.organisation_id = $1 AND x.machine_id = $2 AND x.back_in_use_at IS NULL ORDER BY x.failed_at FOR UPDATE OF x`,
    [machineId],
  )
  for (const { id, zone, held } of open) {
    if (held === null) await closeStoppage(changing, id, { note: 'works again, said by a packer' })
    else await noteOnStoppage(changing, id, `${sayLocalMoment(changing.now, zone)}: works again, said by a packer, ${WHILE[held]}`)
  }
  return packerPage(changing, machineId)
}
const WHILE = { worked_on: 'while it was worked on', tagged_out: 'while it was tagged out' } as const

export async function packerEvidence(
  changing: Changing,
  machineId: string,
  given: { id: string; value: number } | { id: string; runs: RouteBody<Routes['packerTap']>['runs'] },
): Promise<PackerPage> {
  const page = await packerPage(changing, machineId)
  const item: ParsedEvidenceItem =
    'value' in given
      ? { kind: 'counter_reading', id: given.id, machineId, at: changing.now.toISOString(), value: given.value }
      : { kind: 'monthly_tap', id: given.id, machineId, month: page.month, runs: given.runs }
  await takeIn(changing, [item], { source: 'packer', fallbackWarehouseId: changing.who.warehouseIds?.[0] ?? NOBODY })
  return packerPage(changing, machineId)
}
