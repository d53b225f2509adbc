/** What the figures ought to be, and which of them are not. */
import type { Report } from './report.js'

export interface Judged {
  what: string
  value: number
  wanted: string
  reached: boolean
}

const within = (what: string, value: number, low: number, high: number): Judged => ({
  what,
  value,
  wanted: `${low} to ${high}`,
  reached: value >= low && value <= high,
})
const atLeast = (what: string, value: number, low: number): Judged => ({ what, value, wanted: `at least ${low}`, reached: value >= low })

export function judge(report: Report): Judged[] {
  const { overall, byTrigger, wearRatesOfFewMeasurements, inferredUse, reminderLeadEnough } = report
  const out = [
    within('between early and late, overall', overall.between.value, 0.77, 0.83),
    within('below early, overall', overall.belowEarly.value, 0.07, 0.13),
    within('above late, overall', overall.aboveLate.value, 0.07, 0.13),
  ]
  for (const [trigger, score] of Object.entries(byTrigger)) {
    out.push(within(`between early and late, ${trigger}`, score.between.value, 0.75, 0.85))
    out.push(atLeast(`pinball loss under the better plain rule, ${trigger}`, score.pinball?.betterThanBest ?? 0, 0.1))
    out.push(atLeast(`forecasts scored, ${trigger}`, score.dues, 2000))
  }
  out.push(
    atLeast('wear rates of sets with fewer than 5 measurements, RMSE lower than their own mean', wearRatesOfFewMeasurements.lowerBy, 0.2),
    within('inferred use inside its 90 % range', inferredUse.cartonsAndRolls.inside.value, 0.87, 0.93),
    within('bias of inferred use', inferredUse.cartonsAndRolls.bias, -0.03, 0.03),
    atLeast('reminders with lead enough', reminderLeadEnough.overall.value, 0.95),
  )
  return out
}
