/** What the look back says, in sentences with numbers. Pure. */
import type { DateScores, ScoredTriggerKind } from '@tapewarden/shared'

type Score = DateScores['scores'][number]

/** Shares of true days between early and late that the dates promise. */
const PROMISED = 0.8

/** Why a kind of trigger has no score: the day on which it came true is on nobody's record. */
export const UNSEEN: Readonly<Partial<Record<ScoredTriggerKind, string>>> = {
  wear: 'Nobody sees the day on which a brush passes its limit: it is measured before and after.',
  life: 'A look by chance of failure has no day that could come true: the chance itself is a forecast.',
}

const NAMES: Readonly<Record<ScoredTriggerKind, string>> = { usage: 'use', wear: 'wear', life: 'life' }
const percent = (share: number): string => `${Math.round(100 * share)} %`
const limits = (low: number | null, high: number | null): string =>
  low === null || high === null ? '' : ` (between ${Math.round(100 * low)} and ${percent(high)})`

function verdict({ between, belowEarly, aboveLate }: Score): string {
  const { value, low, high, n } = between
  if (value === null || low === null || high === null) return ''
  if (low <= PROMISED && high >= PROMISED) return ` That is what they promise, 80 %, as far as ${n} dates can tell.`
  if (low > PROMISED) return ' They promise 80 %: the ranges are wider than they need be, so plan by the likely day.'
  const early = (belowEarly.value ?? 0) > (aboveLate.value ?? 0)
  return ` They promise 80 %: trust the ranges less than they say. Most that missed came ${early ? 'before the early day: look sooner' : 'after the late day: there was more time than was said'}.`
}

function sentenceOf(score: Score): string[] {
  const { between, belowEarly, aboveLate, trigger } = score
  if (between.value === null) return []
  return [
    `Of ${between.n} dates by ${NAMES[trigger]} that have come true, ${percent(between.value)}${limits(between.low, between.high)} lay between early and late, ${percent(belowEarly.value ?? 0)} before early, ${percent(aboveLate.value ?? 0)} after late.${verdict(score)}`,
    ...(score.medianDaysLate === null || score.medianWidthDays === null ? [] : [halfOf(score.medianDaysLate, score.medianWidthDays)]),
  ]
}

function halfOf(daysLate: number, widthDays: number): string {
  const days = (count: number): string => `${Math.round(count)} ${Math.round(count) === 1 ? 'day' : 'days'}`
  const by = Math.abs(Math.round(daysLate))
  const side = by === 0 ? 'on the likely day itself' : `${days(by)} ${daysLate > 0 ? 'after' : 'before'} the likely day`
  return `In the middle they came true ${side}; early and late lay ${days(widthDays)} apart.`
}

export function scoreSentences(scores: readonly Score[], workedOutOn: string | null): string[] {
  const said = scores.flatMap(sentenceOf)
  if (said.length > 0) return said
  if (workedOutOn === null) return ['This is worked out in the night, once the first dates have been planned.']
  const usage = scores.find(({ trigger }) => trigger === 'usage')
  return [
    `${usage?.between.hiddenReason ?? 'None has come true yet.'} A date counts once its task was done and the same use has been reached again.`,
  ]
}
