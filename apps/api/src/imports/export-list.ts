import { InvalidError } from '@tapewarden/platform'
import type { FileAnswer, RouteQuery, Routes } from '@tapewarden/shared'
import { localDateOf } from '../use/local-day.js'
import type { Reading } from '../use/work.js'
import { FIELDS, IMPORT_KINDS, type ImportKind } from './fields.js'
import { type Cell, fileOf } from './files.js'
import { type StoredRow, storedRows } from './import-parts.js'
import { importRow } from './import-rows.js'

type List = RouteQuery<Routes['exportList']>['list']
interface Export {
  headings: readonly string[]
  sql: string
  /** Choice words instead of stored values, by heading. */
  words?: Readonly<Record<string, Readonly<Record<string, readonly string[]>>>>
}

const MOST_ROWS = 100_000
const REACH = `($2::uuid[] IS NULL OR w.id = ANY($2))`
const PLACED = `JOIN placement p ON p.organisation_id = m.organisation_id AND p.machine_id = m.id AND p.to_at IS NULL
  JOIN warehouse w ON w.organisation_id = p.organisation_id AND w.id = p.warehouse_id`
const headings = (kind: ImportKind): string[] => FIELDS[kind].map(({ label }) => label)
const words = (kind: ImportKind): Export['words'] =>
  Object.fromEntries(FIELDS[kind].flatMap(({ label, choices }) => (choices ? [[label, choices]] : [])))

/** Columns of each query in the order of its headings; all rows in a stable order. */
const EXPORTS: Readonly<Record<List, Export>> = {
  warehouses: {
    headings: headings('warehouses'),
    sql: `SELECT w.name, w.zone, w.address, w.labour_cost_per_hour::float8, w.stoppage_cost_per_hour::float8 FROM warehouse w
      WHERE w.organisation_id = $1 AND ${REACH} ORDER BY w.name, w.id`,
  },
  stations: {
    headings: headings('stations'),
    words: words('stations'),
    sql: `SELECT w.name AS a, s.name AS b, s.line, s.walking_order, s.if_stopped, s.strips_per_carton FROM station s
      JOIN warehouse w ON w.organisation_id = s.organisation_id AND w.id = s.warehouse_id WHERE s.organisation_id = $1 AND ${REACH} ORDER BY w.name, s.walking_order, s.id`,
  },
  machines: {
    headings: headings('machines'),
    words: words('machines'),
    sql: `SELECT m.label_code, m.serial_number, t.name AS a, w.name AS b, s.name AS c, m.commissioned_on, m.owner, m.warranty_until, m.service_firm, m.service_telephone, m.tape, m.note
      FROM machine m JOIN machine_type t ON t.organisation_id = m.organisation_id AND t.id = m.machine_type_id ${PLACED}
      LEFT JOIN station s ON s.organisation_id = p.organisation_id AND s.id = p.station_id
      WHERE m.organisation_id = $1 AND ${REACH} AND m.status <> 'retired' ORDER BY m.label_code, m.id`,
  },
  components: {
    headings: headings('components'),
    sql: `SELECT m.label_code, t.name, c.new_on FROM component_placement x JOIN component c ON c.organisation_id = x.organisation_id AND c.id = x.component_id
      JOIN component_type t ON t.organisation_id = c.organisation_id AND t.id = c.component_type_id
      JOIN machine m ON m.organisation_id = x.organisation_id AND m.id = x.machine_id ${PLACED}
      WHERE x.organisation_id = $1 AND x.to_date IS NULL AND ${REACH} ORDER BY m.label_code, t.name, x.id`,
  },
  evidence: {
    headings: headings('evidence'),
    words: words('evidence'),
    sql: `SELECT m.label_code, e.kind, to_char(COALESCE(e.at_time AT TIME ZONE w.zone, e.from_date), 'YYYY-MM-DD') AS day,
        to_char(e.at_time AT TIME ZONE w.zone, 'HH24:MI') AS time, e.amount
      FROM evidence e JOIN machine m ON m.organisation_id = e.organisation_id AND m.id = e.machine_id
      JOIN warehouse w ON w.organisation_id = e.organisation_id AND w.id = e.warehouse_id
      WHERE e.organisation_id = $1 AND ${REACH} AND e.state = 'counted' AND e.kind IN ('counter_reading', 'strips_day') ORDER BY e.from_date DESC, m.label_code, e.id`,
  },
  cartons: {
    headings: headings('cartons'),
    sql: `SELECT w.name AS a, s.name AS b, e.from_date, e.amount FROM evidence e
      JOIN station s ON s.organisation_id = e.organisation_id AND s.id = e.station_id
      JOIN warehouse w ON w.organisation_id = s.organisation_id AND w.id = s.warehouse_id
      WHERE e.organisation_id = $1 AND ${REACH} AND e.state = 'counted' AND e.kind = 'cartons_day' ORDER BY e.from_date DESC, w.name, s.name, e.id`,
  },
  rolls: {
    headings: headings('rolls'),
    sql: `SELECT m.label_code, e.from_date, e.to_date, e.amount, (e.detail ->> 'rollMetres')::float8 AS metres FROM evidence e
      JOIN machine m ON m.organisation_id = e.organisation_id AND m.id = e.machine_id
      JOIN warehouse w ON w.organisation_id = e.organisation_id AND w.id = e.warehouse_id
      WHERE e.organisation_id = $1 AND ${REACH} AND e.state = 'counted' AND e.kind = 'rolls' ORDER BY e.from_date DESC, m.label_code, e.id`,
  },
  taps: {
    headings: headings('taps'),
    words: words('taps'),
    sql: `SELECT m.label_code, to_char(e.from_date, 'YYYY-MM') AS month, e.detail ->> 'runs' AS runs FROM evidence e
      JOIN machine m ON m.organisation_id = e.organisation_id AND m.id = e.machine_id
      JOIN warehouse w ON w.organisation_id = e.organisation_id AND w.id = e.warehouse_id
      WHERE e.organisation_id = $1 AND ${REACH} AND e.state = 'counted' AND e.kind = 'monthly_tap' ORDER BY e.from_date DESC, m.label_code, e.id`,
  },
  service_history: {
    headings: headings('service_history'),
    sql: `SELECT m.label_code, COALESCE(pt.name, k.key) AS task, r.done_on, COALESCE(NULLIF(r.person_name, ''), who.name) AS by, r.note FROM service_record r
      JOIN machine m ON m.organisation_id = r.organisation_id AND m.id = r.machine_id ${PLACED}
      JOIN service_task k ON k.organisation_id = r.organisation_id AND k.id = r.service_task_id
      LEFT JOIN person who ON who.organisation_id = r.organisation_id AND who.id = r.person_id
      LEFT JOIN LATERAL (SELECT t.name FROM plan_task t JOIN service_plan s ON s.organisation_id = t.organisation_id AND s.id = t.service_plan_id
        WHERE t.organisation_id = r.organisation_id AND t.service_task_id = k.id ORDER BY s.plan_version DESC LIMIT 1) pt ON true
      WHERE r.organisation_id = $1 AND r.settles AND ${REACH} ORDER BY r.done_on DESC, m.label_code, r.id`,
  },
  dates: {
    headings: ['Label code', 'Warehouse', 'Task', 'State', 'Early', 'Likely', 'Late', 'No later than'],
    sql: `SELECT m.label_code, w.name AS a, t.name AS b, f.state, f.early_on, f.likely_on, f.late_on, f.no_later_than FROM forecast f
      JOIN machine m ON m.organisation_id = f.organisation_id AND m.id = f.machine_id ${PLACED}
      JOIN plan_task t ON t.organisation_id = f.organisation_id AND t.id = f.plan_task_id
      WHERE f.organisation_id = $1 AND ${REACH} ORDER BY f.likely_on NULLS LAST, m.label_code, t.name`,
  },
  work_orders: {
    headings: ['Order', 'Label code', 'Warehouse', 'State', 'Technician', 'Planned on', 'Minutes worked', 'Tasks'],
    sql: `SELECT o.number, m.label_code, w.name AS a, o.state, tech.name AS b, o.planned_on, o.minutes_worked,
        (SELECT string_agg(t.name, '; ' ORDER BY x.position) FROM work_order_task x JOIN plan_task t ON t.organisation_id = x.organisation_id AND t.id = x.plan_task_id
         WHERE x.organisation_id = o.organisation_id AND x.work_order_id = o.id) AS tasks
      FROM work_order o JOIN machine m ON m.organisation_id = o.organisation_id AND m.id = o.machine_id
      JOIN warehouse w ON w.organisation_id = o.organisation_id AND w.id = o.warehouse_id
      LEFT JOIN person tech ON tech.organisation_id = o.organisation_id AND tech.id = o.technician_id
      WHERE o.organisation_id = $1 AND ${REACH} ORDER BY o.number DESC`,
  },
  stoppages: {
    headings: [
      'Label code',
      'Warehouse',
      'Failed at',
      'Reported at',
      'Work begun at',
      'Repaired at',
      'Back in use at',
      'What was seen',
      'Cause',
      'Planned',
      'Note',
    ],
    sql: `SELECT m.label_code, w.name AS a, to_char(x.failed_at AT TIME ZONE w.zone, 'YYYY-MM-DD HH24:MI') AS b, to_char(x.reported_at AT TIME ZONE w.zone, 'YYYY-MM-DD HH24:MI') AS c,
        to_char(x.work_begun_at AT TIME ZONE w.zone, 'YYYY-MM-DD HH24:MI') AS d, to_char(x.repaired_at AT TIME ZONE w.zone, 'YYYY-MM-DD HH24:MI') AS e,
        to_char(x.back_in_use_at AT TIME ZONE w.zone, 'YYYY-MM-DD HH24:MI') AS f, x.failure_mode, x.cause, CASE WHEN x.planned THEN 'yes' ELSE 'no' END AS g, x.note
      FROM stoppage x JOIN machine m ON m.organisation_id = x.organisation_id AND m.id = x.machine_id
      JOIN warehouse w ON w.organisation_id = x.organisation_id AND w.id = x.warehouse_id WHERE x.organisation_id = $1 AND ${REACH} ORDER BY x.failed_at DESC, x.id`,
  },
  parts: {
    headings: [
      'Stock code',
      'Part',
      'Component',
      'Warehouse',
      'On hand',
      'Reserved',
      'On order',
      'Lead time, days',
      'Give or take, days',
      'Price',
    ],
    sql: `SELECT p.stock_code, p.name, c.name AS a, w.name AS b, k.on_hand, k.reserved, k.on_order, k.lead_time_days, k.lead_time_spread_days, p.price::float8 FROM part p
      LEFT JOIN component_type c ON c.organisation_id = p.organisation_id AND c.id = p.component_type_id
      LEFT JOIN part_stock k ON k.organisation_id = p.organisation_id AND k.part_id = p.id
      LEFT JOIN warehouse w ON w.organisation_id = k.organisation_id AND w.id = k.warehouse_id
      WHERE p.organisation_id = $1 AND p.in_books AND (w.id IS NULL OR ${REACH}) ORDER BY p.stock_code, w.name`,
  },
  people: {
    headings: ['Name', 'Mail', 'Role', 'Electrically qualified'],
    sql: `SELECT name, email, role, CASE WHEN electrically_qualified THEN 'yes' ELSE 'no' END AS q FROM person
      WHERE organisation_id = $1 AND disabled_at IS NULL AND ($2::uuid[] IS NULL OR true) ORDER BY name, id`,
  },
}

function sayCell(value: unknown, heading: string, known: Export['words']): Cell {
  if (value === null || value === undefined) return null
  if (typeof value === 'number') return value
  const text = String(value)
  return known?.[heading]?.[text]?.[0] ?? text
}

export async function exportList(reading: Reading, list: List, format: 'csv' | 'xlsx'): Promise<FileAnswer> {
  const { headings: head, sql, words: known } = EXPORTS[list]
  const rows = await reading.scope.arrays<unknown[]>(`${sql} LIMIT ${MOST_ROWS + 1}`, [reading.organisationId, reading.who.warehouseIds])
  if (rows.length > MOST_ROWS && format === 'xlsx')
    throw new InvalidError(
      'TOO_MANY_ROWS',
      `This list has more than ${MOST_ROWS} rows. Take it as CSV; the newest ${MOST_ROWS} are in it.`,
      '/format',
    )
  const cells = rows.slice(0, MOST_ROWS).map((row) => head.map((heading, at) => sayCell(row[at], heading, known)))
  return fileOf(`${list.replaceAll('_', '-')}-${localDateOf(reading.now, 'UTC')}`, format, [head, ...cells])
}

export async function templateOf(kind: ImportKind, format: 'csv' | 'xlsx'): Promise<FileAnswer> {
  if (!IMPORT_KINDS.includes(kind)) throw new InvalidError('UNKNOWN_KIND', 'There is no such template.', '/kind')
  return fileOf(`${kind.replaceAll('_', '-')}-template`, format, [
    FIELDS[kind].map(({ label }) => label),
    FIELDS[kind].map(({ example }) => example || null),
  ])
}

/** The refused rows as they came, with what is wrong at the end: corrected, the same file can be imported. */
export async function refusedRows(reading: Reading, importId: string): Promise<FileAnswer> {
  const row = await importRow(reading, importId)
  const refused = await storedRows(reading, importId, { outcome: 'refused', after: 0, most: MOST_ROWS })
  const say = ({ faults }: StoredRow): string =>
    faults.map(({ column, value, problem, remedy }) => `${column}: ${value ? `‘${value}’ ` : ''}${problem} ${remedy}`).join(' | ')
  const rows = refused.map((one) => [...row.headings.map((_, at) => one.cells[at] ?? null), one.line, say(one)])
  return fileOf(`refused-${row.fileName.replace(/\.\w+$/, '').replace(/[^\w-]+/g, '-')}`, 'csv', [
    [...row.headings, 'Line in the file', 'What is wrong'],
    ...rows,
  ])
}
