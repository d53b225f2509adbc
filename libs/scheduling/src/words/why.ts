/** 'Why is this due?' and 'how far can this be trusted?', made only from stored numbers: the same sentence when made again. */
import type { Basis, Day } from '../model.js'
import { civilFromDay, dayOf, isoWeek } from '../time/day.js'

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

const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec']

/** '12 May', with the year where it is not that of `reference`. */
export function sayDate(text: string, reference?: string): string {
  const { year, month, date } = civilFromDay(dayOf(text))
  const short = `${date} ${MONTHS[month - 1]}`
  return reference !== undefined && Number(reference.slice(0, 4)) === year ? short : `${short} ${year}`
}

const sayNumber = (value: unknown): string =>
  typeof value === 'number' ? value.toLocaleString('en', { maximumFractionDigits: 1 }).replaceAll(',', ' ') : String(value)
const text = (value: unknown): string => (typeof value === 'string' ? value : '')
const plural = (count: number, one: string, many: string): string => `${count} ${count === 1 ? one : many}`

const UNITS: Readonly<Record<string, string>> = { strips: 'strips', metres: 'metres', motor_minutes: 'motor minutes' }
const KINDS: Readonly<Record<string, string>> = {
  counter: 'counter',
  strips: 'strips a day',
  cartons: 'cartons',
  rolls: 'rolls',
  tap: 'one tap a month',
}
const SITUATIONS: Readonly<Record<string, string>> = {
  moved: 'the machine was moved',
  brushes_replaced: 'brushes were replaced',
  jam_storm: 'tape jammed again and again',
  new_tape: 'another tape came into use',
  back_in_service: 'the machine came back into service',
  before_peak: 'a peak is coming',
}

function sayKinds(kinds: Basis[string] | undefined): string {
  const list = Array.isArray(kinds) ? (kinds as (string | number)[]).map((kind) => KINDS[String(kind)] ?? String(kind)) : []
  return list.length === 0 ? 'no evidence of its own; use of like machines' : list.join(', ')
}

function range({ earlyOn, likelyOn, lateOn, noLaterThan }: ExplainedForecast): string {
  if (likelyOn === null) return 'No date.'
  if (earlyOn === likelyOn && lateOn === likelyOn) return `${sayDate(likelyOn)}.`
  const between = `between ${earlyOn === null ? 'now' : sayDate(earlyOn, likelyOn)} and ${lateOn === null ? 'further than five years' : sayDate(lateOn, likelyOn)}`
  return `Likely ${sayDate(likelyOn)}, ${between}${noLaterThan === null ? '' : `, no later than ${sayDate(noLaterThan, likelyOn)}`}.`
}

function cause({ governingTrigger, basis }: ExplainedForecast): string {
  const since = typeof basis.lastDoneOn === 'string' ? sayDate(basis.lastDoneOn) : null
  switch (governingTrigger) {
    case 'calendar':
      return basis.months !== null && basis.months !== undefined
        ? `${plural(Number(basis.months), 'month', 'months')} from the last time, ${since}${basis.planChangedOn ? `; the plan changed on ${sayDate(text(basis.planChangedOn))}` : ''}.`
        : `${plural(Number(basis.days ?? 0), 'day', 'days')} from the last time, ${since}.`
    case 'calendar_month':
      return since === null
        ? 'Once in each calendar month; the last time is not known.'
        : `Once in each calendar month; last done ${since}.`
    case 'usage':
      return `${sayNumber(basis.used)} of ${sayNumber(basis.amount)} ${UNITS[text(basis.unit)] ?? 'strips'} since ${since}, about ${sayNumber(basis.perDay)} a working day (${sayKinds(basis.kinds)}).`
    case 'wear':
      return basis.lastLengthMm === null
        ? `Not measured yet; by its use and this type’s wear it may near ${sayNumber(basis.planLimitMm)} mm.`
        : `Measured ${sayNumber(basis.lastLengthMm)} mm on ${sayDate(text(basis.measuredOn))}; at about ${sayNumber(basis.perDay)} strips a working day it reaches ${sayNumber(basis.planLimitMm)} mm then (${plural(Number(basis.measurements), 'measurement', 'measurements')}).`
    case 'life':
      return `The part is ${sayNumber(basis.ageYears)} years old; by then the chance that it fails since the last look, ${since}, reaches ${sayNumber(basis.failedPercent)} %.`
    case 'finding':
      return `Found on ${sayDate(text(basis.foundOn))}: ${text(basis.finding)}`
    case 'situation':
      return `On ${sayDate(text(basis.happenedOn))} ${SITUATIONS[text(basis.situation)] ?? text(basis.situation)}.`
    default:
      return ''
  }
}

/** One or two short sentences with the numbers behind the date. */
export function whyDue(forecast: ExplainedForecast): string {
  if (forecast.state === 'cannot_be_computed') return `Cannot be computed: ${forecast.reason ?? 'the reason is not known'}`
  if (forecast.state === 'paused') return forecast.reason ?? 'Not in service.'
  if (forecast.basis.firstLook === true && forecast.likelyOn !== null)
    return `We don’t know when this was last done. First look: ${sayWeek(dayOf(forecast.likelyOn))}; until then there is no date, only this visit.`
  if (forecast.likelyOn === null) return forecast.reason ?? 'No date.'
  return `${range(forecast)} ${cause(forecast)}`.trim()
}

function sayWeek(day: Day): string {
  const { year, week } = isoWeek(day)
  return `week ${week} of ${year}`
}

/** How sure the date is, in words. */
export function howSure(forecast: ExplainedForecast): string {
  const { governingTrigger, basis, earlyOn, likelyOn, lateOn, state } = forecast
  if (likelyOn === null || state === 'paused' || state === 'cannot_be_computed') return 'There is no date to trust.'
  if (state === 'first_look') return 'The week is chosen to spread the work; it says nothing about wear.'
  if (earlyOn === likelyOn && lateOn === likelyOn) return 'Exact: it follows from the calendar alone.'
  const kinds = Array.isArray(basis.kinds) ? (basis.kinds as string[]) : []
  const source =
    kinds.length === 0
      ? 'It rests on like machines only: one counter reading or one tap a month narrows it.'
      : kinds.every((kind) => kind === 'tap')
        ? 'It rests on one tap a month: a counter reading or rolls used narrow it.'
        : `It rests on ${sayKinds(basis.kinds)}${typeof basis.intervals === 'number' ? `, ${plural(basis.intervals, 'interval', 'intervals')} of evidence` : ''}.`
  const width =
    lateOn === null || earlyOn === null
      ? ''
      : ` Eight in ten such dates should fall between ${sayDate(earlyOn, likelyOn)} and ${sayDate(lateOn, likelyOn)}.`
  return `${source}${governingTrigger === 'wear' && typeof basis.measurements === 'number' && basis.measurements < 3 ? ' Another measurement narrows it.' : ''}${width}`
}
