/** 'How far can this be trusted?', made only from stored numbers: the same sentence when made again. */
import type { Basis } from '../model.js'
import { plural, sayKinds, sayDate } from './say.js'
import type { ExplainedForecast } from './why.js'

/** A date without a range. */
function exactly(governing: string | null, basis: Basis): string {
  if (governing === 'usage') return `That day has passed: it is read from the evidence (${sayKinds(basis.kinds)}).`
  if (governing === 'finding') return 'It is the day that the finding asks for.'
  if (governing === 'situation') return 'It follows from what happened, not from use or wear.'
  if (governing === 'life' || governing === 'least_cost_age')
    return typeof basis.removals === 'number' && basis.removals > 0
      ? `It rests on ${plural(basis.removals, 'removal', 'removals')} and the trade's range: one part may last far longer or less.`
      : "It rests on the trade's range alone: one part may last far longer or less. Each removal that is written down narrows it."
  return 'Exact: it follows from the calendar alone.'
}

/** How sure the date is, in words. */
export function howSure(forecast: ExplainedForecast): string {
  const { governingTrigger, basis, earlyOn, likelyOn, lateOn, state } = forecast
  if (likelyOn === null || state === 'paused' || state === 'cannot_be_computed') return 'There is no date to trust.'
  if (state === 'first_look') return 'The week is chosen to spread the work; it says nothing about wear.'
  if (earlyOn === likelyOn && lateOn === likelyOn) return exactly(governingTrigger, basis)
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
