/** A warehouse, a type and a machine to plan with, for tests: working Monday to Friday, closed and peaked as in the worked cases. */
import type { Trigger } from '@tapewarden/shared'
import type { LastDone, MachineToPlan, MachineTypeFacts, OpenOccurrence, PlanTask, UsageInterval, WarehouseCalendar } from '../model.js'
import { dayOf } from '../time/day.js'
import type { PlanningInput } from './input.js'

/** Closed 25 December and 1 January; a no-visits peak 15 November to 29 December 2026. */
export const CALENDAR: WarehouseCalendar = {
  zone: 'Europe/Berlin',
  shiftMinutes: [0, 480, 480, 480, 480, 480, 0, 0],
  shifts: [1, 2, 3, 4, 5].map((weekday) => ({ weekday, startsMinute: 360, endsMinute: 840 })),
  closures: [2025, 2026, 2027].flatMap((year) => [
    { from: dayOf(`${year}-12-25`), to: dayOf(`${year}-12-25`) },
    { from: dayOf(`${year}-01-01`), to: dayOf(`${year}-01-01`) },
  ]),
  peaks: [{ from: dayOf('2026-11-15'), to: dayOf('2026-12-29'), usageMultiplier: 1, bars: 'no_visits' }],
}

export const FACTS: MachineTypeFacts = {
  machineTypeId: 'type',
  electric: true,
  meanStripMm: 500,
  feedSpeedMPerMin: 60,
  startUpSecondsPerStrip: 0.25,
  mostStripsPerMinute: 40,
  usualStripsPerDay: 800,
  usualStripsStated: true,
  brushNewMm: 12.7,
  brushPlanLimitMm: 9.5,
  brushNeverBelowMm: 6.4,
  stripsFromNewToPlanLimit: 400_000,
  bladeLifeUnit: 'years',
}

export function planTask(triggers: Trigger[], more: Partial<PlanTask> = {}): PlanTask {
  return {
    planTaskId: `plan ${more.key ?? 'task'}`,
    serviceTaskId: more.key ?? 'task',
    key: 'task',
    name: 'Task',
    componentKey: null,
    minutes: 10,
    skill: 'technician',
    reach: 'cover_off',
    safetyCheck: false,
    overrunCounts: false,
    triggers,
    measures: false,
    partsLeadDays: 0,
    ...more,
  }
}

export const months = (count: number): Trigger => ({ kind: 'calendar', months: count, mode: 'nominal' })
export const felt = (more: Partial<PlanTask> = {}): PlanTask =>
  planTask([{ kind: 'calendar_month' }], { key: 'felt', minutes: 5, skill: 'instructed', reach: 'outside', ...more })

export const doneOn = (date: string, more: Partial<LastDone> = {}): LastDone => ({
  doneOn: dayOf(date),
  anchorOn: dayOf(date),
  anchorSteps: 0,
  stripsTotal: null,
  ...more,
})

export function machineToPlan(more: Partial<MachineToPlan> = {}): MachineToPlan {
  return {
    machineId: 'machine',
    machineTypeId: 'type',
    status: 'in_service',
    statusSince: dayOf('2024-01-01'),
    registeredOn: dayOf('2024-01-01'),
    commissionedOn: null,
    line: 'A',
    walkingOrder: 1,
    stripsTotal: 0,
    hasCounter: true,
    usage: [],
    lastDone: {},
    open: {},
    sequences: {},
    newest: {},
    skipped: {},
    components: [],
    findings: [],
    situations: [],
    ...more,
  }
}

/** `perDay` strips on each working day of from..to, told by a counter each day. */
export function dailyUse(from: string, to: string, perDay: number): UsageInterval[] {
  const out: UsageInterval[] = []
  for (let day = dayOf(from); day <= dayOf(to); day++) {
    const weekday = ((day + 3) % 7) + 1
    if (weekday <= 5) out.push({ from: day, to: day, strips: perDay, kind: 'counter', relativeError: 0 })
  }
  return out
}

export function planningInput(
  today: string,
  tasks: readonly PlanTask[],
  machines: readonly MachineToPlan[],
  more: Partial<PlanningInput> = {},
): PlanningInput {
  return {
    today: dayOf(today),
    calendar: CALENDAR,
    leadDays: 7,
    types: { type: FACTS },
    tasksByType: { type: tasks },
    machines,
    life: {},
    ...more,
  }
}

export type Opened = OpenOccurrence
