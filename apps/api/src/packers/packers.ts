import { NotFoundError } from '@tapewarden/platform'
import type { PackerPage, ParsedEvidenceItem, RouteBody, Routes } from '@tapewarden/shared'
import { takeIn } from '../evidence/take-in.js'
import type { Who } from '../http/call.js'
import { closeStoppage, reportStoppage } from '../stoppages/stoppage-changes.js'
import { localDateOf } from '../use/local-day.js'
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
  planned: boolean | null
}

export async function packerPage(reading: Reading, machineId: string): Promise<PackerPage> {
  const { zone, what, since, planned, ...row } = await reading.one<PageRow>(
    'label',
    `SELECT m.label_code AS "labelCode", NULLIF(trim(concat_ws(' ', s.line, s.name)), '') AS place, t.supply, t.heater, t.counter_kind AS "counterKind",
       who.name AS "contactName", w.zone, x.failure_mode AS what, COALESCE(x.reported_at, x.failed_at) AS since, x.planned
     FROM machine m JOIN machine_type t ON t.organisation_id = m.organisation_id AND t.id = m.machine_type_id
     JOIN placement p ON p.organisation_id = m.organisation_id AND p.machine_id = m.id AND p.to_at IS NULL
     JOIN warehouse w ON w.organisation_id = p.organisation_id AND w.id = p.warehouse_id
     LEFT JOIN station s ON s.organisation_id = p.organisation_id AND s.id = p.station_id
     LEFT JOIN person who ON who.organisation_id = w.organisation_id AND who.id = w.first_person_id AND who.disabled_at IS NULL
     LEFT JOIN LATERAL (SELECT failure_mode, reported_at, failed_at, planned FROM stoppage o WHERE o.organisation_id = m.organisation_id AND o.machine_id = m.id
       AND o.back_in_use_at IS NULL ORDER BY o.failed_at LIMIT 1) x ON true
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
    report: what === null || since === null ? null : { what, since, planned: planned ?? false },
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

export async function packerWorksAgain(changing: Changing, machineId: string): Promise<PackerPage> {
  const open = await changing.rows<{ id: string }>(
    `SELECT id FROM stoppage WHERE organisation_id = $1 AND machine_id = $2 AND back_in_use_at IS NULL AND NOT planned ORDER BY failed_at`,
    [machineId],
  )
  for (const { id } of open) await closeStoppage(changing, id, { note: 'works again, said by a packer' })
  return packerPage(changing, machineId)
}

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
