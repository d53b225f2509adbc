/** What was done so far: last care of each task, brush lengths as measured, stoppages with their moments. */
import { newId } from '@tapewarden/platform'
import { addDays } from './days.js'
import type { DemoMachine } from './machines.js'
import type { Random } from './random.js'
import type { Rows } from './rows.js'
import { stripsBetween, type TrueUse } from './use.js'

interface Habit {
  /** Days between two times of care here, and how well that is kept. */
  every: number
  spread: number
  /** Share of machines of whose last time nobody knows. */
  unknown: number
  /** Share that is past its day by now. */
  overdue: number
}

const HABITS: Record<string, Habit> = {
  monthly: { every: 30, spread: 6, unknown: 0.05, overdue: 0.1 },
  half: { every: 182, spread: 35, unknown: 0.12, overdue: 0.03 },
  year: { every: 365, spread: 50, unknown: 0.15, overdue: 0.02 },
}

function habitOf(task: { triggers: { kind: string; months?: number }[] }): Habit | null {
  const kinds = task.triggers.map((trigger) => trigger.kind)
  if (kinds.includes('calendar_month')) return HABITS.monthly as Habit
  const months = task.triggers.find((trigger) => trigger.kind === 'calendar')?.months ?? 0
  return months === 0 ? null : months <= 6 ? (HABITS.half as Habit) : (HABITS.year as Habit)
}

export interface TaskOfType {
  serviceTaskId: string
  key: string
  triggers: { kind: string; months?: number }[]
  componentKey: string | null
}

function addRecord(
  rows: Rows,
  machine: DemoMachine,
  task: TaskOfType,
  doneOn: string,
  componentId: string | null,
  by: { id: string; name: string },
): string {
  const id = newId()
  rows.add('service_record', {
    id,
    machine_id: machine.id,
    service_task_id: task.serviceTaskId,
    component_id: componentId,
    done_on: doneOn,
    done_at: `${doneOn}T13:00:00Z`,
    person_id: by.id,
    person_name: by.name,
    source: 'import',
    anchor_on: doneOn,
    anchor_steps: 0,
    settles: true,
    note: '',
    created_at: `${doneOn}T13:05:00Z`,
  })
  return id
}

export function addCare(
  rows: Rows,
  machines: DemoMachine[],
  tasksOf: (machine: DemoMachine) => TaskOfType[],
  byWhom: (machine: DemoMachine, monthly: boolean) => { id: string; name: string },
  random: Random,
): void {
  for (const machine of machines)
    for (const task of tasksOf(machine)) {
      const habit = habitOf(task)
      if (habit === null || random.chance(habit.unknown)) continue
      const monthly = habit === HABITS.monthly
      const share = random.chance(habit.overdue) ? random.between(1.02, 1.3) : random.between(0.03, 0.97)
      const latest = addDays(machine.hall.today, -Math.max(2, Math.round(share * habit.every)))
      for (
        let done = latest;
        done > addDays(machine.hall.today, -540);
        done = addDays(done, -Math.round(random.normal(habit.every, habit.spread / 2)))
      ) {
        if (machine.commissionedOn !== null && done < machine.commissionedOn) break
        addRecord(rows, machine, task, done, null, byWhom(machine, monthly))
      }
    }
}

/** Brush lengths at up to three looks, worn by the machine's own rate; some sets are near the plan limit. */
export function addBrushLengths(
  rows: Rows,
  uses: TrueUse[],
  tasksOf: (machine: DemoMachine) => TaskOfType[],
  by: (machine: DemoMachine) => { id: string; name: string },
  random: Random,
): void {
  for (const [index, use] of uses.entries()) {
    const { machine } = use
    const task = tasksOf(machine).find(({ key }) => key === 'measure_motor_brushes')
    if (machine.brushSetId === null || machine.brushNewOn === null || !task || index % 6 === 5) continue
    const newOn = machine.brushNewOn
    const rate = (3.2 / (machine.type.stripsFromNewToPlanLimit ?? 400_000)) * Math.exp(random.normal(0.25, 0.3))
    const looks = [400, 210, 35].map((back) => addDays(machine.hall.today, -back - random.whole(0, 20))).filter((date) => date > newOn)
    for (const date of looks) {
      const used = stripsBetween(use, newOn, date)
      const lengthMm = Math.max(6.9, 12.7 - rate * used + random.normal(0, 0.06))
      const recordId = addRecord(rows, machine, task, date, machine.brushSetId, by(machine))
      for (const [name, value] of [
        ['upper_brush', lengthMm],
        ['lower_brush', lengthMm + Math.abs(random.normal(0.15, 0.08))],
      ] as const) {
        const text = value.toFixed(1)
        rows.add('measurement', {
          id: newId(),
          machine_id: machine.id,
          component_id: machine.brushSetId,
          service_record_id: recordId,
          name,
          value_mm: Number(text),
          entered_unit: 'mm',
          entered_text: text,
          when_taken: 'as_found',
          measured_on: date,
          state: 'counted',
          created_at: `${date}T13:05:00Z`,
        })
      }
    }
  }
}

const KINDS = [
  { mode: 'jammed', component: 'feed_wheel', cause: 'dried_glue', hours: 0.7 },
  { mode: 'wrong_length', component: 'feed_clutch', cause: 'wear', hours: 2.5 },
  { mode: 'cuts_badly', component: 'blade', cause: 'wear', hours: 3 },
  { mode: 'does_not_stick', component: 'moistener_brush_set', cause: 'missed_care', hours: 0.8 },
  { mode: 'dead', component: 'motor_brush_set', cause: 'wear', hours: 6 },
  { mode: 'other', component: 'interlock', cause: 'unknown', hours: 1.5 },
]

export function addStoppages(rows: Rows, machines: DemoMachine[], components: Map<string, string>, now: Date, random: Random): void {
  for (const [index, machine] of machines.entries()) {
    if (machine.type.drive === 'hand') continue
    const count = index % 17 === 4 ? 6 : random.chance(0.45) ? random.whole(1, 2) : 0
    for (let n = 0; n < count; n++) addStoppage(rows, machine, components, addDays(machine.hall.today, -random.whole(3, 500)), random)
  }
  const open = machines.find((machine) => machine.status === 'tagged_out')
  if (open) {
    const failed = new Date(now.getTime() - 50 * 3_600_000)
    rows.add(
      'stoppage',
      stoppageRow(open, {
        failed_at: failed.toISOString(),
        noticed_at: failed.toISOString(),
        reported_at: new Date(failed.getTime() + 900_000).toISOString(),
        failure_mode: 'damaged',
        cause: 'knock_or_fall',
        component_type_id: components.get('cord_and_plug'),
        reported_by: 'Station scan',
      }),
    )
  }
}

function addStoppage(rows: Rows, machine: DemoMachine, components: Map<string, string>, date: string, random: Random): void {
  const kind = random.pick(KINDS)
  const failed =
    Date.parse(`${date}T${String(random.whole(9, 14)).padStart(2, '0')}:${String(random.whole(0, 59)).padStart(2, '0')}:00Z`) -
    3_600_000 * (machine.hall.key === 'harbour' ? 9 : machine.hall.key === 'prairie' ? -5 : 0)
  const minutes = (low: number, high: number): number => random.between(low, high) * 60_000
  const noticed = failed + minutes(0, 8)
  const reported = noticed + minutes(2, 25)
  const begun = reported + minutes(15, 150)
  const wait = random.chance(0.3) ? minutes(120, 1500) : 0
  const repaired = begun + wait + (kind.hours * 3_600_000 * random.between(0.4, 1.3)) / 2
  const checked = repaired + minutes(4, 15)
  const iso = (ms: number): string => new Date(Math.round(ms / 60_000) * 60_000).toISOString()
  rows.add(
    'stoppage',
    stoppageRow(machine, {
      failed_at: iso(failed),
      noticed_at: iso(noticed),
      reported_at: iso(reported),
      work_begun_at: iso(begun),
      repaired_at: iso(repaired),
      checked_at: iso(checked),
      back_in_use_at: iso(checked + minutes(1, 20)),
      waits: wait > 0 ? [{ reason: 'part', fromAt: iso(begun + 600_000), toAt: iso(begun + 600_000 + wait) }] : [],
      failure_mode: kind.mode,
      component_type_id: components.get(kind.component),
      cause: random.chance(0.25) ? 'unknown' : kind.cause,
      noticed_how: 'packer',
      reported_by: 'Station scan',
    }),
  )
}

const stoppageRow = (machine: DemoMachine, more: object): Record<string, unknown> => ({
  id: newId(),
  machine_id: machine.id,
  warehouse_id: machine.hall.id,
  station_id: machine.stationId,
  planned: false,
  waits: [],
  failure_mode: 'unknown',
  cause: 'unknown',
  noticed_how: 'unknown',
  reported_by: '',
  note: '',
  version: 1,
  created_at: (more as { failed_at: string }).failed_at,
  ...more,
})
