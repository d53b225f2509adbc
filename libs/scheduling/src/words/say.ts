/** Numbers, dates and names of things in the why-sentences. Fixed here, not taken from the machine's settings: the same sentence when made again. */
import { convert } from '@tapewarden/reliability'
import type { Units } from '@tapewarden/shared/vocabulary'
import type { Basis } from '../model.js'
import { civilFromDay, dayOf } from '../time/day.js'

const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec']

/** '12 May', with the year where it is not that of `reference`. */
export function sayDate(text: string, reference?: string): string {
  const { year, month, date } = civilFromDay(dayOf(text))
  const short = `${date} ${MONTHS[month - 1]}`
  return reference !== undefined && Number(reference.slice(0, 4)) === year ? short : `${short} ${year}`
}

const [TENTHS, WHOLE] = [1, 0].map((digits) => new Intl.NumberFormat('en', { maximumFractionDigits: digits })) as [
  Intl.NumberFormat,
  Intl.NumberFormat,
]
export const sayNumber = (value: unknown): string => (typeof value === 'number' ? TENTHS.format(value).replaceAll(',', ' ') : String(value))
/** What is only known about: a tenth of twenty and more says more than anybody knows. */
export const sayAbout = (value: unknown): string =>
  typeof value === 'number' && Math.abs(value) >= 20 ? WHOLE.format(value).replaceAll(',', ' ') : sayNumber(value)
/** A measured length or its limit, to the hundredth of a millimetre; three decimals of an inch tell 1/64 apart. */
export const sayMeasured = (mm: number, units: Units): string =>
  units === 'us' ? `${convert(mm, 'mm', 'in').toFixed(3)} in` : `${Number(mm.toFixed(2))} mm`
export const text = (value: unknown): string => (typeof value === 'string' ? value : '')
export const plural = (count: number, one: string, many: string): string => `${count} ${count === 1 ? one : many}`

export const UNITS: Readonly<Record<string, string>> = { strips: 'strips', metres: 'metres', motor_minutes: 'motor minutes' }
const KINDS: Readonly<Record<string, string>> = {
  counter: 'counter',
  strips: 'strips a day',
  cartons: 'cartons',
  rolls: 'rolls',
  tap: 'one tap a month',
}
export const SITUATIONS: Readonly<Record<string, string>> = {
  moved: 'the machine was moved',
  brushes_replaced: 'brushes were replaced',
  jam_storm: 'tape jammed again and again',
  new_tape: 'another tape came into use',
  back_in_service: 'the machine came back into service',
  before_peak: 'a peak is coming',
}

export function sayKinds(kinds: Basis[string] | undefined): string {
  const list = Array.isArray(kinds) ? (kinds as (string | number)[]).map((kind) => KINDS[String(kind)] ?? String(kind)) : []
  return list.length === 0 ? 'no evidence of its own; use of like machines' : list.join(', ')
}
