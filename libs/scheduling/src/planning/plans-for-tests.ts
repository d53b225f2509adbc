/** A calendar, a machine type and tasks for tests of planning. */
import type { Trigger } from '@tapewarden/shared'
import type { MachineTypeFacts, PlanTask, WarehouseCalendar } from '../model.js'
import { dayOf } from '../time/day.js'

/** Working days Monday to Friday; closed 25 December and 1 January; a 'no visits' peak 15 Nov to 29 Dec 2026 (rules.md, worked cases). */
export const WORKED_CASES_CALENDAR: WarehouseCalendar = {
  zone: 'Europe/Berlin',
  shiftMinutes: [0, 480, 480, 480, 480, 480, 0, 0],
  shifts: [1, 2, 3, 4, 5].map((weekday) => ({ weekday, startsMinute: 480, endsMinute: 960 })),
  closures: [2025, 2026, 2027, 2028].flatMap((year) => [
    { from: dayOf(`${year}-12-25`), to: dayOf(`${year}-12-25`) },
    { from: dayOf(`${year}-01-01`), to: dayOf(`${year}-01-01`) },
  ]),
  peaks: [{ from: dayOf('2026-11-15'), to: dayOf('2026-12-29'), usageMultiplier: 1, bars: 'no_visits' }],
}
export const NO_PEAK_CALENDAR: WarehouseCalendar = { ...WORKED_CASES_CALENDAR, peaks: [] }

export const TYPE: MachineTypeFacts = {
  machineTypeId: 'type',
  electric: true,
  meanStripMm: 500,
  feedSpeedMPerMin: 30,
  startUpSecondsPerStrip: 0.2,
  mostStripsPerMinute: 20,
  usualStripsPerDay: 800,
  usualStripsStated: true,
  brushNewMm: 16,
  brushPlanLimitMm: 9.5,
  brushNeverBelowMm: 6.4,
  stripsFromNewToPlanLimit: 1_000_000,
  bladeLifeUnit: 'years',
}

export const months = (count: number, more: Partial<Extract<Trigger, { kind: 'calendar' }>> = {}): Trigger => ({
  kind: 'calendar',
  months: count,
  mode: 'nominal',
  ...more,
})

export function taskOf(key: string, triggers: readonly Trigger[], more: Partial<PlanTask> = {}): PlanTask {
  return {
    planTaskId: `plan ${key}`,
    serviceTaskId: key,
    key,
    name: key,
    componentKey: null,
    minutes: 15,
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
export const smallCare = (
  key: string,
  triggers: readonly Trigger[] = [{ kind: 'calendar_month' }],
  more: Partial<PlanTask> = {},
): PlanTask => taskOf(key, triggers, { minutes: 5, skill: 'instructed', reach: 'outside', ...more })
