/** Rows of evidence of use: readings and strips a day, cartons at a station, rolls over an interval, a word a month. */
import { localToInstant } from '@tapewarden/scheduling'
import { type EvidenceOutcome, monthlyTapSchema, type ParsedEvidenceItem } from '@tapewarden/shared'
import { takeIn } from '../evidence/take-in.js'
import { localDateOf } from '../use/local-day.js'
import type { Changing } from '../use/work.js'
import { alreadyThere, type Asked } from './already-there.js'
import { Known, type MachineKnown } from './known.js'
import { refuse, RowRefused, type RowResult, type RowToDo, UNCHANGED } from './outcome.js'
import type { ImportRecord } from './records.js'

const SOURCE = 'import'
const NOWHERE = '00000000-0000-0000-0000-000000000000'
/** A reading without a time counts at noon, or now where that is still to come. */
const NOON = '12:00'

/** Columns that a fault is told of. */
interface Columns {
  when: string
  amount: string
}

function readingOf(record: ImportRecord, machine: MachineKnown, now: Date): ParsedEvidenceItem {
  const day = String(record.day)
  const kind = record.kind ?? 'counter_reading'
  const externalId = [kind, machine.labelCode, day, record.time ?? ''].join('|')
  if (kind === 'strips_day') return { kind, machineId: machine.id, externalId, day, strips: Number(record.amount) }
  const zone = machine.zone ?? 'UTC'
  const asked = localToInstant(zone, `${day}T${String(record.time ?? NOON)}`)
  const at =
    record.time === null || record.time === undefined ? Math.min(asked, day === localDateOf(now, zone) ? now.getTime() : asked) : asked
  return { kind: 'counter_reading', machineId: machine.id, externalId, at: new Date(at).toISOString(), value: Number(record.amount) }
}

function rollsOf(record: ImportRecord, machine: MachineKnown): ParsedEvidenceItem {
  const [fromDate, toDate] = [String(record.fromDate), String(record.toDate)]
  if (toDate < fromDate) refuse('toDate', 'DATES_CROSS', 'lies before its first day.', 'Exchange the two days, or correct one.')
  return {
    kind: 'rolls',
    machineId: machine.id,
    externalId: ['rolls', machine.labelCode, fromDate, toDate].join('|'),
    fromDate,
    toDate,
    rolls: Number(record.rolls),
    rollMetres: Number(record.rollMetres),
  }
}

function tapOf(record: ImportRecord, machine: MachineKnown): ParsedEvidenceItem {
  const month = String(record.month)
  const externalId = ['monthly_tap', machine.labelCode, month].join('|')
  return { kind: 'monthly_tap', machineId: machine.id, externalId, month, runs: monthlyTapSchema.parse(record.runs) }
}

const REMEDIES: Readonly<Record<string, string>> = {
  RUNS_BACKWARDS: 'Correct the value or the date, or say on the machine’s page that its counter was replaced.',
  MORE_THAN_IT_CAN_CUT: 'Correct the value or the date, or the type’s most strips a minute.',
  IN_THE_FUTURE: 'Correct the date.',
  NO_COUNTER: 'Say on the page of its type that it has a counter, or leave the row out.',
  DUPLICATE: 'Keep the one that is right; correct the other on the page of evidence.',
}

function resultOf(outcome: EvidenceOutcome, columns: Columns): RowResult {
  if (outcome.outcome === 'counted') return { outcome: 'new', effect: { evidenceId: outcome.id } }
  if (outcome.outcome === 'duplicate') return UNCHANGED
  const code = outcome.code ?? 'SET_ASIDE'
  return {
    outcome: 'refused',
    faults: [
      {
        field: code === 'IN_THE_FUTURE' ? columns.when : columns.amount,
        code,
        // The reason ends with what to do on the desk; in a list it is done otherwise.
        problem: (outcome.reason ?? 'cannot be true.').replace(/ Correct [^.]+\.$/, ''),
        remedy: REMEDIES[code] ?? (REMEDIES.RUNS_BACKWARDS as string),
      },
    ],
  }
}

/** Takes them in all at once; what cannot be true is left out and the rest judged again, so that nothing refused is written. */
async function takeInGood(
  changing: Changing,
  items: readonly Asked[],
  results: RowResult[],
  columns: Columns,
  forGood: boolean,
): Promise<void> {
  let left = items
  while (left.length > 0) {
    const outcomes = await takeIn(
      changing,
      left.map(({ item }) => item),
      { source: SOURCE, fallbackWarehouseId: NOWHERE, judgeOnly: !forGood, goodOnly: true },
    )
    outcomes.forEach((outcome, at) => (results[left[at]?.index ?? -1] = resultOf(outcome, columns)))
    if (outcomes.every(({ outcome }) => outcome !== 'set_aside')) return
    left = left.filter((_, at) => outcomes[at]?.outcome !== 'set_aside')
  }
}

/** @param itemOf what a row says; @throws RowRefused */
async function writeUse(
  changing: Changing,
  rows: readonly RowToDo[],
  columns: Columns,
  itemOf: (record: ImportRecord) => ParsedEvidenceItem,
  forGood: boolean,
): Promise<RowResult[]> {
  const results: RowResult[] = []
  const items: Asked[] = []
  rows.forEach(({ record }, index) => {
    try {
      items.push({ index, item: itemOf(record) })
    } catch (error) {
      if (!(error instanceof RowRefused)) throw error
      results[index] = { outcome: 'refused', faults: [error.fault] }
    }
  })
  const there = await alreadyThere(changing, items)
  for (const index of there) results[index] = UNCHANGED
  await takeInGood(
    changing,
    items.filter(({ index }) => !there.has(index)),
    results,
    columns,
    forGood,
  )
  return results
}

const machinesOf = (changing: Changing, rows: readonly RowToDo[]): Promise<Known> =>
  Known.ofMachines(
    changing,
    rows.map(({ record }) => record.labelCode),
  )

export async function writeEvidence(changing: Changing, rows: readonly RowToDo[], forGood: boolean): Promise<RowResult[]> {
  const known = await machinesOf(changing, rows)
  return writeUse(
    changing,
    rows,
    { when: 'day', amount: 'amount' },
    (record) => readingOf(record, known.machine(record.labelCode), changing.now),
    forGood,
  )
}

export async function writeRolls(changing: Changing, rows: readonly RowToDo[], forGood: boolean): Promise<RowResult[]> {
  const known = await machinesOf(changing, rows)
  return writeUse(
    changing,
    rows,
    { when: 'toDate', amount: 'rolls' },
    (record) => rollsOf(record, known.machine(record.labelCode)),
    forGood,
  )
}

export async function writeTaps(changing: Changing, rows: readonly RowToDo[], forGood: boolean): Promise<RowResult[]> {
  const known = await machinesOf(changing, rows)
  return writeUse(changing, rows, { when: 'month', amount: 'runs' }, (record) => tapOf(record, known.machine(record.labelCode)), forGood)
}

const nameKey = (warehouseId: string, name: unknown): string =>
  `${warehouseId} ${String(name ?? '')
    .trim()
    .toLowerCase()}`

export async function writeCartons(changing: Changing, rows: readonly RowToDo[], forGood: boolean): Promise<RowResult[]> {
  const known = await Known.of(changing, [])
  const stations = await changing.rows<{ id: string; name: string; warehouseId: string }>(
    `SELECT id, name, warehouse_id AS "warehouseId" FROM station WHERE organisation_id = $1 AND ($2::uuid[] IS NULL OR warehouse_id = ANY($2))
       AND lower(name) = ANY($3::text[]) ORDER BY id`,
    [
      changing.who.warehouseIds,
      [
        ...new Set(
          rows.map(({ record }) =>
            String(record.station ?? '')
              .trim()
              .toLowerCase(),
          ),
        ),
      ],
    ],
  )
  const byName = new Map(stations.map((one) => [nameKey(one.warehouseId, one.name), one.id]))
  return writeUse(
    changing,
    rows,
    { when: 'day', amount: 'cartons' },
    (record) => {
      const warehouse = known.warehouse(record.warehouse)
      const stationId = byName.get(nameKey(warehouse.id, record.station))
      if (stationId === undefined)
        refuse('station', 'UNKNOWN_STATION', `is no station of ${warehouse.name}.`, 'Import the stations first, or correct the name.')
      const day = String(record.day)
      return {
        kind: 'cartons_day',
        stationId,
        externalId: ['cartons_day', stationId, day].join('|'),
        day,
        cartons: Number(record.cartons),
      }
    },
    forGood,
  )
}
