import { cautionsFor, roundLineCaution } from '@tapewarden/scheduling'
import { type Round, ROUND_ACKNOWLEDGEMENT, type RoundLine } from '@tapewarden/shared'
import { InvalidError } from '@tapewarden/platform'
import { addDays, localDateOf } from '../use/local-day.js'
import { requireWarehouse } from '../use/reach.js'
import type { Reading } from '../use/work.js'

interface WarehouseRow extends Record<string, unknown> {
  id: string
  name: string
  zone: string
}
export interface RoundTaskRow extends Record<string, unknown> {
  machineId: string
  machineTypeId: string
  labelCode: string
  typeName: string
  supply: 'cord_and_plug' | 'wired_in' | 'none'
  heater: boolean
  stationName: string | null
  line: string
  walkingOrder: number
  occurrenceId: string
  serviceTaskId: string
  planTaskId: string
  taskKey: string
  taskName: string
  minutes: number
  safetyCheck: boolean
  reach: RoundLine['tasks'][number]['reach']
  state: RoundLine['tasks'][number]['state']
  instructed: boolean
}

export interface Month {
  month: string
  first: string
  last: string
}
export function monthOf(month: string): Month {
  const [year, number] = month.split('-').map(Number) as [number, number]
  return {
    month,
    first: `${month}-01`,
    last: addDays(`${number === 12 ? year + 1 : year}-${String((number % 12) + 1).padStart(2, '0')}-01`, -1),
  }
}

/** Small outside care that an instructed person does: what the month's list holds (rule 6), safety look included (rule 7). */
const TASKS = `SELECT o.machine_id AS "machineId", m.machine_type_id AS "machineTypeId", m.label_code AS "labelCode", t.name AS "typeName", t.supply, t.heater, s.name AS "stationName",
    COALESCE(s.line, '') AS line, COALESCE(s.walking_order, 2000000) AS "walkingOrder", o.id AS "occurrenceId", o.service_task_id AS "serviceTaskId", o.plan_task_id AS "planTaskId",
    k.key AS "taskKey", pt.name AS "taskName", pt.minutes, pt.safety_check AS "safetyCheck", pt.reach, o.state,
    EXISTS (SELECT 1 FROM instruction i WHERE i.organisation_id = o.organisation_id AND i.person_id = $5 AND i.machine_type_id = m.machine_type_id) AS instructed
  FROM occurrence o
  JOIN plan_task pt ON pt.organisation_id = o.organisation_id AND pt.id = o.plan_task_id
  JOIN service_task k ON k.organisation_id = o.organisation_id AND k.id = o.service_task_id
  JOIN machine m ON m.organisation_id = o.organisation_id AND m.id = o.machine_id
  JOIN machine_type t ON t.organisation_id = m.organisation_id AND t.id = m.machine_type_id
  LEFT JOIN placement p ON p.organisation_id = m.organisation_id AND p.machine_id = m.id AND p.to_at IS NULL
  LEFT JOIN station s ON s.organisation_id = p.organisation_id AND s.id = p.station_id
  WHERE o.organisation_id = $1 AND o.warehouse_id = $2 AND pt.reach = 'outside' AND pt.skill = 'instructed' AND m.status = 'in_service'
    AND ((o.state = 'open' AND o.opened_on <= $4) OR (o.state = 'done' AND o.done_on BETWEEN $3 AND $4))
  ORDER BY line, "walkingOrder", m.label_code, pt.position, o.sequence`

interface AnswerRow extends Record<string, unknown> {
  entryId: string
  machineId: string
  kind: 'round_done' | 'round_not_done'
  reason: 'no_time' | 'no_oil' | 'machine_not_here' | 'must_not_open' | null
  personId: string | null
  personName: string | null
  madeAt: string
}

/** The newest answer a machine that was not taken back. */
const ANSWERS = `SELECT DISTINCT ON (e.machine_id) e.id AS "entryId", e.machine_id AS "machineId", e.kind, e.content ->> 'reason' AS reason, e.person_id AS "personId",
    p.name AS "personName", e.made_at AS "madeAt"
  FROM work_entry e LEFT JOIN person p ON p.organisation_id = e.organisation_id AND p.id = e.person_id
  WHERE e.organisation_id = $1 AND e.machine_id = ANY($2::uuid[]) AND e.kind IN ('round_done', 'round_not_done') AND e.content ->> 'month' = $3
    AND e.outcome_reason IS DISTINCT FROM 'taken back'
  ORDER BY e.machine_id, (e.kind = 'round_done') DESC, e.made_at DESC, e.id DESC`

export async function roundWarehouse(reading: Reading, warehouseId: string): Promise<WarehouseRow> {
  requireWarehouse(reading.who, warehouseId)
  return reading.one<WarehouseRow>('warehouse', `SELECT id, name, zone FROM warehouse WHERE organisation_id = $1 AND id = $2`, [
    warehouseId,
  ])
}

export function roundTasks(reading: Reading, warehouseId: string, month: Month): Promise<RoundTaskRow[]> {
  return reading.rows<RoundTaskRow>(TASKS, [warehouseId, month.first, month.last, reading.who.personId])
}

function linesOf(reading: Reading, tasks: readonly RoundTaskRow[], answers: ReadonlyMap<string, AnswerRow>): RoundLine[] {
  const byMachine = new Map<string, RoundTaskRow[]>()
  for (const task of tasks) byMachine.set(task.machineId, [...(byMachine.get(task.machineId) ?? []), task])
  return [...byMachine.values()].map((own) => {
    const [first] = own as [RoundTaskRow]
    const answer = answers.get(first.machineId)
    return {
      machineId: first.machineId,
      labelCode: first.labelCode,
      typeName: first.typeName,
      stationName: first.stationName,
      line: first.line,
      walkingOrder: first.walkingOrder,
      caution: roundLineCaution(first),
      tasks: own.map(({ occurrenceId, taskKey, taskName, minutes, safetyCheck, reach, state }) => ({
        occurrenceId,
        taskKey,
        taskName,
        minutes,
        safetyCheck,
        reach,
        state,
      })),
      minutes: own.filter((task) => task.state === 'open').reduce((sum, task) => sum + task.minutes, 0),
      mayDo: reading.who.role !== 'instructed' || first.instructed,
      answer: answer
        ? {
            entryId: answer.entryId,
            outcome: answer.kind === 'round_done' ? ('done' as const) : ('not_done' as const),
            reason: answer.reason,
            personName: answer.personName ?? '',
            madeAt: answer.madeAt,
            canUndo: answer.personId === reading.who.personId || reading.who.role === 'manager' || reading.who.role === 'administrator',
          }
        : null,
    }
  })
}

export async function roundLines(reading: Reading, warehouseId: string, month: Month): Promise<RoundLine[]> {
  const tasks = await roundTasks(reading, warehouseId, month)
  const answers = await reading.rows<AnswerRow>(ANSWERS, [[...new Set(tasks.map((task) => task.machineId))], month.month])
  return linesOf(reading, tasks, new Map(answers.map((answer) => [answer.machineId, answer])))
}

export async function roundLine(reading: Reading, warehouseId: string, month: Month, machineId: string): Promise<RoundLine> {
  const line = (await roundLines(reading, warehouseId, month)).find((one) => one.machineId === machineId)
  if (!line) throw new InvalidError('NOT_ON_THE_ROUND', "This machine is not on the month's round.", '/machineId')
  return line
}

export async function acknowledgedAt(reading: Reading, warehouseId: string, month: string): Promise<{ at: string } | null> {
  return reading.maybeOne<{ at: string }>(
    `SELECT at FROM audit_entry WHERE organisation_id = $1 AND subject_kind = 'round' AND subject_id = $2 AND action = 'acknowledge cautions'
       AND person_id = $3 AND after ->> 'month' = $4 ORDER BY at LIMIT 1`,
    [warehouseId, reading.who.personId, month],
  )
}

export async function getRound(reading: Reading, warehouseId: string, asked: string | undefined): Promise<Round> {
  const warehouse = await roundWarehouse(reading, warehouseId)
  const today = localDateOf(reading.now, warehouse.zone)
  const month = monthOf(asked ?? today.slice(0, 7))
  const lines = await roundLines(reading, warehouseId, month)
  const kinds = await reading.rows<{ supply: RoundTaskRow['supply']; heater: boolean }>(
    `SELECT DISTINCT t.supply, t.heater FROM machine m JOIN machine_type t ON t.organisation_id = m.organisation_id AND t.id = m.machine_type_id
     WHERE m.organisation_id = $1 AND m.id = ANY($2::uuid[])`,
    [lines.map((line) => line.machineId)],
  )
  const cautions = kinds.flatMap((kind) => cautionsFor({ ...kind, reach: 'outside', usesSolvent: false }))
  return {
    warehouse,
    month: month.month,
    today,
    personName: reading.who.name,
    cautions: [...new Map(cautions.map((caution) => [caution.key, caution])).values()],
    acknowledgement: ROUND_ACKNOWLEDGEMENT,
    acknowledged: await acknowledgedAt(reading, warehouseId, month.month),
    lines,
    doneCount: lines.filter((line) => line.tasks.every((task) => task.state === 'done')).length,
    openCount: lines.filter((line) => line.tasks.some((task) => task.state === 'open')).length,
  }
}
