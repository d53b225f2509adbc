/** The service plan of the simulated fleets: one task a trigger kind, each with that trigger alone, so that its dates can be judged. */
import type { MachineTypeFacts, PlanTask } from '@tapewarden/scheduling'
import { MEAN_STRIP_MM } from './truth-evidence.js'
import { BRUSH_NEVER_BELOW_MM, BRUSH_NEW_MM, BRUSH_PLAN_LIMIT_MM, TYPE_LEVELS } from './truth-machine.js'

export const USAGE_AMOUNT = 80_000
export const FAILED_FRACTION = 0.1
export const STRIPS_FROM_NEW = 400_000
export const BRUSH = 'motor_brush_set'
export const BLADE = 'blade'

const task = (key: string, triggers: PlanTask['triggers'], more: Partial<PlanTask> = {}): PlanTask => ({
  planTaskId: key,
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
})

export const GREASE = task('grease', [{ kind: 'usage', unit: 'strips', amount: USAGE_AMOUNT }])
export const MEASURE = task('measure', [{ kind: 'calendar', months: 6, mode: 'floating' }], { componentKey: BRUSH })
/** Falls due by the wear alone while a set was measured too seldom for its replacement to be dated (rule 15). */
export const MEASURE_WHEN_WORN = task('measure when worn', [{ kind: 'finding' }], { componentKey: BRUSH, measures: true })
export const REPLACE = task('replace', [{ kind: 'wear' }], { componentKey: BRUSH, partsLeadDays: 14 })
export const LOOK = task('look at blade', [{ kind: 'life', failedFraction: FAILED_FRACTION }], { componentKey: BLADE, partsLeadDays: 21 })
export const TASKS: readonly PlanTask[] = [GREASE, MEASURE, MEASURE_WHEN_WORN, REPLACE, LOOK]

export const typeName = (index: number): string => `type ${index}`
/** The last type counts the life of its blades in strips. */
export const STRIPS_TYPE = 2

export const TYPES: Readonly<Record<string, MachineTypeFacts>> = Object.fromEntries(
  TYPE_LEVELS.map((level, index): [string, MachineTypeFacts] => [
    typeName(index),
    {
      machineTypeId: typeName(index),
      electric: true,
      meanStripMm: MEAN_STRIP_MM,
      feedSpeedMPerMin: 60,
      startUpSecondsPerStrip: 0.25,
      mostStripsPerMinute: 40,
      usualStripsPerDay: level,
      usualStripsStated: true,
      brushNewMm: BRUSH_NEW_MM,
      brushPlanLimitMm: BRUSH_PLAN_LIMIT_MM,
      brushNeverBelowMm: BRUSH_NEVER_BELOW_MM,
      stripsFromNewToPlanLimit: STRIPS_FROM_NEW,
      bladeLifeUnit: index === STRIPS_TYPE ? 'strips' : 'years',
    },
  ]),
)
