import type { MachineTypeFacts } from '@tapewarden/scheduling'
import type { TypeRow } from './read-warehouse.js'

/**
 * Stands in where a user has not said how a type is: assumptions, each shown as such, except the two limits
 * (common practice, no source: plan at 9.5 mm, never below 6.4 mm).
 */
export const TYPE_DEFAULTS = {
  usualStripsPerDay: 500,
  brushNewMm: 16,
  brushPlanLimitMm: 9.5,
  brushNeverBelowMm: 6.4,
  stripsFromNewToPlanLimit: 1_000_000,
  startUpSecondsPerStrip: 0.2,
} as const

export function typeFactsOf(row: TypeRow): MachineTypeFacts {
  return {
    machineTypeId: row.id,
    electric: row.drive === 'electric',
    meanStripMm: row.mean_strip_mm ?? (row.shortest_strip_mm + row.longest_strip_mm) / 2,
    feedSpeedMPerMin: row.feed_speed_m_per_min,
    startUpSecondsPerStrip: row.start_up_seconds_per_strip ?? TYPE_DEFAULTS.startUpSecondsPerStrip,
    mostStripsPerMinute: row.most_strips_per_minute,
    usualStripsPerDay: row.usual_strips_per_day ?? TYPE_DEFAULTS.usualStripsPerDay,
    usualStripsStated: row.usual_strips_per_day !== null,
    brushNewMm: row.brush_new_mm ?? TYPE_DEFAULTS.brushNewMm,
    brushPlanLimitMm: row.brush_plan_limit_mm ?? TYPE_DEFAULTS.brushPlanLimitMm,
    brushNeverBelowMm: row.brush_never_below_mm ?? TYPE_DEFAULTS.brushNeverBelowMm,
    stripsFromNewToPlanLimit: row.strips_from_new_to_plan_limit ?? TYPE_DEFAULTS.stripsFromNewToPlanLimit,
    bladeLifeUnit: row.blade_life_unit === 'strips' ? 'strips' : 'years',
  }
}
