/** Rows of what was: evidence of use, and care that was done. */
import { newId } from '@tapewarden/platform'
import { localToInstant } from '@tapewarden/scheduling'
import type { EvidenceOutcome, ParsedEvidenceItem } from '@tapewarden/shared'
import { takeIn } from '../evidence/take-in.js'
import { localDateOf } from '../use/local-day.js'
import type { Changing } from '../use/work.js'
import { Known, type MachineKnown } from './known.js'
import { eachRow, refuse, RowRefused, type RowResult, type RowToDo } from './outcome.js'
import type { ImportRecord } from './records.js'

const SOURCE = 'import'
/** A reading without a time counts at noon, or now where that is still to come. */
const NOON = '12:00'

function itemOf(record: ImportRecord, machine: MachineKnown, now: Date): ParsedEvidenceItem {
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

const REMEDY = 'Correct the value or the date, or say on the machine’s page that its counter was replaced.'

function resultOf(outcome: EvidenceOutcome): RowResult {
  if (outcome.outcome === 'counted') return { outcome: 'new', effect: { evidenceId: outcome.id } }
  if (outcome.outcome === 'duplicate') return { outcome: 'unchanged', effect: null }
  const field = outcome.code === 'IN_THE_FUTURE' ? 'day' : 'amount'
  return {
    outcome: 'refused',
    faults: [{ field, code: outcome.code ?? 'SET_ASIDE', problem: outcome.reason ?? 'cannot be true.', remedy: REMEDY }],
  }
}

/** Takes them in all at once; what cannot be true is left out and the rest taken in again, so that nothing refused is written. */
async function takeInGood(
  changing: Changing,
  items: readonly { index: number; item: ParsedEvidenceItem }[],
  results: RowResult[],
): Promise<void> {
  let left = items
  while (left.length > 0) {
    await changing.scope.run('SAVEPOINT import_evidence')
    const outcomes = await takeIn(
      changing,
      left.map(({ item }) => item),
      { source: SOURCE, fallbackWarehouseId: '00000000-0000-0000-0000-000000000000' },
    )
    outcomes.forEach((outcome, at) => (results[left[at]?.index ?? -1] = resultOf(outcome)))
    if (outcomes.every(({ outcome }) => outcome !== 'set_aside')) return
    await changing.scope.run('ROLLBACK TO SAVEPOINT import_evidence')
    left = left.filter((_, at) => outcomes[at]?.outcome !== 'set_aside')
  }
}

/** Positions of items that are in the books already, whoever sent them; to the minute, as lists write time. */
async function alreadyThere(changing: Changing, items: readonly { index: number; item: ParsedEvidenceItem }[]): Promise<Set<number>> {
  const asked = items.map(({ index, item }) => ({
    index,
    machine: 'machineId' in item ? item.machineId : null,
    kind: item.kind,
    at: item.kind === 'counter_reading' ? item.at : null,
    day: item.kind === 'strips_day' ? item.day : null,
    amount: item.kind === 'counter_reading' ? item.value : item.kind === 'strips_day' ? item.strips : null,
  }))
  const rows = await changing.rows<{ index: number }>(
    `SELECT DISTINCT r.index FROM jsonb_to_recordset($2::jsonb) AS r(index int, machine uuid, kind text, at timestamptz, day date, amount float8)
     JOIN evidence e ON e.organisation_id = $1 AND e.machine_id = r.machine AND e.kind = r.kind AND e.state = 'counted' AND e.amount = r.amount
       AND CASE WHEN r.at IS NULL THEN e.from_date = r.day ELSE date_trunc('minute', e.at_time) = date_trunc('minute', r.at) END`,
    [JSON.stringify(asked)],
  )
  return new Set(rows.map(({ index }) => index))
}

export async function writeEvidence(changing: Changing, rows: readonly RowToDo[]): Promise<RowResult[]> {
  const known = await Known.of(
    changing,
    rows.map(({ record }) => record.labelCode),
  )
  const results: RowResult[] = []
  const items: { index: number; item: ParsedEvidenceItem }[] = []
  rows.forEach(({ record }, index) => {
    try {
      items.push({ index, item: itemOf(record, known.machine(record.labelCode), changing.now) })
    } catch (error) {
      if (!(error instanceof RowRefused)) throw error
      results[index] = { outcome: 'refused', faults: [error.fault] }
    }
  })
  const there = await alreadyThere(changing, items)
  for (const index of there) results[index] = { outcome: 'unchanged', effect: null }
  await takeInGood(
    changing,
    items.filter(({ index }) => !there.has(index)),
    results,
  )
  return results
}

async function taskOf(
  changing: Changing,
  machine: MachineKnown,
  name: unknown,
): Promise<{ serviceTaskId: string; componentTypeId: string | null }> {
  const task = await changing.maybeOne<{ serviceTaskId: string; componentTypeId: string | null }>(
    `SELECT k.id AS "serviceTaskId", t.component_type_id AS "componentTypeId" FROM plan_task t
     JOIN service_task k ON k.organisation_id = t.organisation_id AND k.id = t.service_task_id
     WHERE t.organisation_id = $1 AND (lower(t.name) = lower($3) OR k.key = lower($3)) AND t.service_plan_id =
       (SELECT id FROM service_plan WHERE organisation_id = $1 AND machine_type_id = $2 ORDER BY plan_version DESC LIMIT 1)`,
    [machine.machineTypeId, String(name)],
  )
  return (
    task ??
    refuse('task', 'UNKNOWN_TASK', 'is no task in the plan of this machine’s type.', 'Use the names that stand in its service plan.')
  )
}

export async function writeServiceHistory(changing: Changing, rows: readonly RowToDo[]): Promise<RowResult[]> {
  const known = await Known.of(
    changing,
    rows.map(({ record }) => record.labelCode),
  )
  return eachRow(changing, rows, 'task', async (record) => {
    const machine = known.machine(record.labelCode)
    const { serviceTaskId, componentTypeId } = await taskOf(changing, machine, record.task)
    const doneOn = String(record.doneOn)
    if (doneOn > localDateOf(changing.now, machine.zone ?? 'UTC'))
      refuse('doneOn', 'IN_THE_FUTURE', 'lies in the future.', 'Correct the date.')
    const there = await changing.maybeOne(
      `SELECT id FROM service_record WHERE organisation_id = $1 AND machine_id = $2 AND service_task_id = $3 AND done_on = $4 AND settles LIMIT 1`,
      [machine.id, serviceTaskId, doneOn],
    )
    if (there) return { outcome: 'unchanged', effect: null }
    const id = newId()
    await changing.run(
      `INSERT INTO service_record (organisation_id, id, machine_id, service_task_id, component_id, done_on, done_at, person_id, person_name, source, anchor_on, note, created_at)
       VALUES ($1, $2, $3, $4, (SELECT c.id FROM component_placement p JOIN component c ON c.organisation_id = p.organisation_id AND c.id = p.component_id
           WHERE p.organisation_id = $1 AND p.machine_id = $3 AND c.component_type_id = $5 AND (p.from_date IS NULL OR p.from_date <= $6::date)
             AND (p.to_date IS NULL OR p.to_date >= $6::date) ORDER BY p.from_date DESC NULLS LAST LIMIT 1),
         $6::date, $6::date, NULL, $7, 'import', $6::date, $8, $9)`,
      [id, machine.id, serviceTaskId, componentTypeId, doneOn, String(record.doneBy ?? ''), String(record.note ?? ''), changing.now],
    )
    changing.note({
      action: 'create',
      subjectKind: 'service record',
      subjectId: id,
      after: { machineId: machine.id, serviceTaskId, doneOn, source: 'import' },
    })
    changing.datesMayMove(machine.warehouseId)
    return { outcome: 'new', effect: { serviceRecordId: id } }
  })
}
