/** What a life curve says, in sentences with numbers. Pure. */
import type { LifeCurve } from '@tapewarden/reliability'
import type { LifeCurveAnswer, LifeUnit } from '@tapewarden/shared'
import { FEWEST } from '../estimates.js'

const form = new Intl.NumberFormat('en-GB', { maximumSignificantDigits: 3 })
const count = (value: number): string => form.format(value).replaceAll(',', '\u00a0')
const ages = (value: number, unit: LifeUnit): string => `${count(value)} ${unit}`

/** Why there is no curve; null: there is one. */
export function hiddenReason({ failures, parts, oldest }: LifeCurve, unit: LifeUnit): string | null {
  if (failures >= FEWEST) return null
  if (parts === 0) return `Of none is it known in ${unit} how long it has held.`
  const running = `${parts - failures} held so far or were taken out for another reason, the oldest after ${ages(oldest, unit)}.`
  if (failures === 0) return `None has worn out or broken yet. ${running}`
  return `Only ${failures} wore out or broke; at least ${FEWEST} are needed for a curve. ${running}`
}

const NO_FIT: Readonly<Record<NonNullable<LifeCurve['noFit']>, string>> = {
  'no-failures': 'None has failed.',
  'failures-only-at-oldest-age': 'All failures lie at the oldest age seen, so the data set no curve.',
  'shape-tends-to-zero': 'The failures lie so early that no curve of this kind goes through them.',
}
export const noFitReason = ({ noFit }: LifeCurve): string | null => (noFit === null ? null : NO_FIT[noFit])

function fitted({ fit, oldest }: LifeCurve, unit: LifeUnit): string[] {
  if (!fit) return []
  const { half, tenPercent, shape } = fit
  const beyond = half.value > oldest ? ` That lies beyond the oldest seen, ${ages(oldest, unit)}: take it with care.` : ''
  const wears =
    shape.low !== null && shape.low > 1
      ? 'They wear out: the older, the sooner one fails.'
      : shape.high !== null && shape.high < 1
        ? 'They fail young: new ones more readily than old ones.'
        : 'Whether old ones fail more readily than new ones, these data cannot tell.'
  return [
    `A tenth have failed by ${ages(tenPercent.value, unit)} (between ${count(tenPercent.low)} and ${count(tenPercent.high)}), half by ${ages(half.value, unit)} (between ${count(half.low)} and ${count(half.high)}).${beyond}`,
    wears,
  ]
}

function leftOut({ withoutAge, beforeRegistration }: LifeCurve, unit: LifeUnit): string[] {
  const said: string[] = []
  if (withoutAge > 0)
    said.push(
      unit === 'strips'
        ? `${withoutAge} left out: their strips are not known from their first day on.`
        : `${withoutAge} left out: nobody knows when they were new.`,
    )
  if (beforeRegistration > 0)
    said.push(
      `${beforeRegistration} left out: removed before their machine was registered, and such removals are written down mostly where something failed.`,
    )
  return said
}

function ofDates(use: LifeCurveAnswer['datesUse']): string[] {
  if (!use) return []
  const years = (months: number): string => `${(months / 12).toFixed(1)} years`
  return [
    `Dates are worked out with the trade’s 5 to 20 years (common practice, no source) drawn towards all our own parts: a tenth failed by ${years(use.tenPercentMonths)}, half by ${years(use.halfMonths)}.`,
  ]
}

export function lifeSentences(curve: LifeCurve, unit: LifeUnit, use: LifeCurveAnswer['datesUse']): string[] {
  const hidden = hiddenReason(curve, unit)
  const first = hidden ?? `Of ${curve.parts} whose age in ${unit} is known, ${curve.failures} wore out or broke.`
  const from =
    hidden === null && curve.seenFrom > 0
      ? [`What was seen is told of parts that were good at ${ages(curve.seenFrom, unit)}: before, fewer than five were watched.`]
      : []
  return [first, ...(hidden === null ? fitted(curve, unit) : []), ...from, ...leftOut(curve, unit), ...ofDates(use)]
}
