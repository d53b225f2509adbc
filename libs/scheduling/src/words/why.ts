/** 'Why is this due?' and 'how far can this be trusted?', made only from stored numbers: the same sentence when made again. */
import type { Units } from '@tapewarden/shared/vocabulary'
import type { Basis, Day } from '../model.js'
import { dayOf, isoWeek } from '../time/day.js'
import { plural, sayAbout, sayDate, sayKinds, sayMeasured, sayNumber, SITUATIONS, text, UNITS } from './say.js'

export interface ExplainedForecast {
  state: string
  /** Local dates 'YYYY-MM-DD' or null. */
  earlyOn: string | null
  likelyOn: string | null
  lateOn: string | null
  noLaterThan: string | null
  governingTrigger: string | null
  basis: Basis
  reason: string | null
}

function range({ earlyOn, likelyOn, lateOn, noLaterThan }: ExplainedForecast): string {
  if (likelyOn === null) return 'No date.'
  if (earlyOn === likelyOn && lateOn === likelyOn) return `${sayDate(likelyOn)}.`
  const between = `between ${earlyOn === null ? 'now' : sayDate(earlyOn, likelyOn)} and ${lateOn === null ? 'further than five years' : sayDate(lateOn, likelyOn)}`
  return `Likely ${sayDate(likelyOn)}, ${between}${noLaterThan === null ? '' : `, no later than ${sayDate(noLaterThan, likelyOn)}`}.`
}

/** What turned the date aside: a change of plan, a skip. */
function sayTurns(basis: Basis): string {
  const plan = basis.planChangedOn ? `; the plan changed on ${sayDate(text(basis.planChangedOn))}` : ''
  return `${plan}${basis.skippedOn ? `; skipped on ${sayDate(text(basis.skippedOn))}` : ''}`
}

/** Rule 5: done inside its window, so that the next amount counts from the point at which it was due. */
function sayNominal(basis: Basis): string {
  const toNominal = Number(basis.toNominal ?? 0)
  if (toNominal === 0) return ''
  const unit = UNITS[text(basis.unit)] ?? 'strips'
  return ` (done inside its window; the amount counts from its point, ${sayNumber(Math.abs(toNominal))} ${unit} ${toNominal > 0 ? 'later' : 'earlier'})`
}

/** The day from which it counts: of the last time, or on which machine or part was new. */
function saySince({ lastDoneOn, isNew }: Basis): string | null {
  if (typeof lastDoneOn !== 'string') return null
  const day = sayDate(lastDoneOn)
  return isNew === 'machine' ? `the machine was new, ${day}` : isNew === 'part' ? `the part was new, ${day}` : day
}

const sayRemovals = (removals: unknown): string =>
  typeof removals === 'number' && removals > 0
    ? `${plural(removals, 'removal', 'removals')} and the trade's range`
    : "the trade's range, no removals yet"

const sayLength = (mm: unknown, units: Units): string =>
  units === 'us' && typeof mm === 'number' ? sayMeasured(mm, units) : `${sayNumber(mm)} mm`

function cause({ governingTrigger, basis }: ExplainedForecast, units: Units): string {
  const since = saySince(basis)
  const isNew = basis.isNew !== undefined
  const from = isNew ? `when ${since}` : `the last time, ${since}`
  switch (governingTrigger) {
    case 'calendar':
      return basis.months !== null && basis.months !== undefined
        ? `${plural(Number(basis.months), 'month', 'months')} from ${from}${sayTurns(basis)}.`
        : `${plural(Number(basis.days ?? 0), 'day', 'days')} from ${from}.`
    case 'calendar_month':
      return since === null
        ? 'Once in each calendar month; the last time is not known.'
        : `Once in each calendar month; ${isNew ? `not done yet since ${since}` : `last done ${since}`}.`
    case 'usage':
      return `${sayUsed(basis)} of ${sayNumber(basis.amount)} ${UNITS[text(basis.unit)] ?? 'strips'} since ${since}${sayNominal(basis)}, about ${sayAbout(basis.perDay)} a working day (${sayKinds(basis.kinds)})${sayTurns(basis)}.`
    case 'wear':
      return basis.lastLengthMm === null
        ? `Not measured yet; by its use and this type’s wear it may near ${sayLength(basis.planLimitMm, units)}.`
        : `Measured ${sayLength(basis.lastLengthMm, units)} on ${sayDate(text(basis.measuredOn))}; at about ${sayAbout(basis.perDay)} strips a working day it reaches ${sayLength(basis.planLimitMm, units)} then (${plural(Number(basis.measurements), 'measurement', 'measurements')}).`
    case 'life':
      return `The part is ${sayNumber(basis.ageYears)} years old; by then the chance that it fails since ${isNew ? since : `the last look, ${since},`} reaches ${sayNumber(basis.failedPercent)} % (${sayRemovals(basis.removals)}).`
    case 'least_cost_age':
      return `The part is ${sayNumber(basis.ageYears)} years old; replacing at ${sayNumber(basis.leastCostYears)} years costs least (${sayRemovals(basis.removals)}).`
    case 'finding':
      return `Found on ${sayDate(text(basis.foundOn))}: ${text(basis.finding)}`
    case 'situation':
      if (basis.situation === 'before_peak') return `A peak begins on ${sayDate(text(basis.happenedOn))}.`
      return `On ${sayDate(text(basis.happenedOn))} ${SITUATIONS[text(basis.situation)] ?? text(basis.situation)}.`
    default:
      return ''
  }
}

/** Without any evidence the use is that of like machines. */
const sayUsed = ({ used, kinds }: Basis): string =>
  Array.isArray(kinds) && kinds.length === 0 && used !== 0 ? `about ${sayAbout(used)}` : sayNumber(used)

/** One or two short sentences with the numbers behind the date; lengths in the reader's units. */
export function whyDue(forecast: ExplainedForecast, units: Units = 'si'): string {
  if (forecast.state === 'cannot_be_computed') return `Cannot be computed: ${forecast.reason ?? 'the reason is not known'}`
  if (forecast.state === 'paused') return forecast.reason ?? 'Not in service.'
  if (forecast.basis.firstLook === true && forecast.likelyOn !== null)
    return `We don’t know when this was last done. First look: ${sayWeek(dayOf(forecast.likelyOn))}; until then there is no date, only this visit.`
  if (forecast.likelyOn === null) return forecast.reason ?? 'No date.'
  return `${range(forecast)} ${cause(forecast, units)}`.trim()
}

function sayWeek(day: Day): string {
  const { year, week } = isoWeek(day)
  return `week ${week} of ${year}`
}
