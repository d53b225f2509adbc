/** Rows of care that was done. */
import { newId } from '@tapewarden/platform'
import { localDateOf } from '../use/local-day.js'
import { sayLocalDay } from '../use/local-words.js'
import type { Changing } from '../use/work.js'
import { Known, type MachineKnown } from './known.js'
import { eachRow, refuse, type RowResult, type RowToDo, UNCHANGED } from './outcome.js'

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
    if (there) return UNCHANGED
    if (machine.commissionedOn !== null && doneOn < machine.commissionedOn)
      refuse(
        'doneOn',
        'BEFORE_COMMISSIONING',
        `lies before the day on which the machine was commissioned, ${sayLocalDay(machine.commissionedOn)}.`,
        'Correct the date here, or the other one on the machine’s page.',
      )
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
