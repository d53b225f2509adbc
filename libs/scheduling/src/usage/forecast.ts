/** Use to come of one machine: a gamma distribution whose mean follows the calendar and whose spread says what is not known. */
import type { MachineToPlan, UsageInterval } from '../model.js'
import type { Day } from '../model.js'
import { gammaUpper, normalQuantile } from '@tapewarden/reliability'
import { levelByWords } from './by-words.js'
import { type FleetContext, sumOver } from './fleet.js'
import { ownLevel } from './own-level.js'

export interface UsageForecast {
  context: FleetContext
  /** Strips on an ordinary working day. */
  level: number
  /** Relative error left in the level, the shared factor of inferred evidence aside. */
  levelCv: number
  /** Standard deviation of the logarithm of the factor common to past and future; 0 with a counter or strips a day. */
  sharedSd: number
  /** What the ledger's strips are to be multiplied by where the pool speaks against inferred evidence; 1 with a counter. */
  usedFactor: number
  /** Last day that the ledger knows; use to come counts from the day after. */
  knownTo: Day
  kinds: readonly UsageInterval['kind'][]
  intervals: number
}

/**
 * Normal–normal on the log scale towards the pool of the machine's type. What speaks against inferred evidence is laid to
 * its factor and to its scatter by their shares; the factor holds for the strips that were cut and those to come alike.
 */
export function forecastUsage(context: FleetContext, machine: MachineToPlan): UsageForecast {
  const own = ownLevel(context, machine.usage, context.today, context.overdispersion, context.driftPerDay)
  const pool = context.pools[machine.machineTypeId] ?? { logMean: 0, logSd: 1, machines: 0 }
  const knownTo = machine.usage.reduce((latest, { to }) => Math.max(latest, to), Number.NEGATIVE_INFINITY)
  const start = Number.isFinite(knownTo) ? Math.min(knownTo, context.today) : context.today - 1
  if (own.mean === null) {
    const [level, levelCv] = [Math.exp(pool.logMean), pool.logSd]
    return { context, level, levelCv, sharedSd: 0, usedFactor: 1, knownTo: start, kinds: [], intervals: 0 }
  }
  const kinds = [...new Set(machine.usage.filter(({ to }) => context.today - to <= 120).map(({ kind }) => kind))]
  const told = { context, knownTo: start, kinds, intervals: machine.usage.length }
  const usual = context.usualStripsPerDay[machine.machineTypeId] ?? 0
  const byWords = usual > 0 ? levelByWords(context, machine.usage, context.today, usual, pool) : null
  if (byWords) {
    const level = Math.exp(byWords.logMean)
    return { ...told, level, levelCv: Math.sqrt(own.lagVariance), sharedSd: byWords.logSd, usedFactor: level / own.mean }
  }
  const between = pool.logSd ** 2
  const within = own.scatterVariance + own.lagVariance
  const total = between + within + own.kindError ** 2
  const away = pool.logMean - Math.log(own.mean)
  return {
    ...told,
    level: own.mean * Math.exp(((within + own.kindError ** 2) / total) * away),
    levelCv: Math.sqrt((between * within) / (between + within)),
    sharedSd: own.kindError * Math.sqrt(between / total),
    usedFactor: Math.exp((own.kindError ** 2 / total) * away),
  }
}

export interface Moments {
  mean: number
  variance: number
}

/**
 * Mean and variance of strips on the days after `from` up to and including `to`: φM + M²(cv² + q·h/3 + cv_peak²), since a
 * level that wanders with variance q a working day has wandered by q·h/3 on the average over h days. What is not known of
 * the level is a spread of its logarithm, so the mean lies above the level by half that variance.
 */
export function usageMoments({ context, level, levelCv }: UsageForecast, from: Day, to: Day): Moments {
  const expected = sumOver(context, context.expected, from + 1, to)
  if (expected <= 0) return { mean: 0, variance: 0 }
  const wandered = (context.driftPerDay * sumOver(context, context.working, from + 1, to)) / 3
  const peakShare = sumOver(context, context.inPeak, from + 1, to) / expected
  const ofLevel = levelCv * levelCv + wandered
  const mean = level * expected * (1 + ofLevel / 2)
  return { mean, variance: context.overdispersion * mean + mean * mean * (ofLevel + (context.peakCv * peakShare) ** 2) }
}

/** Chance that at least `strips` are cut on the days after `from` up to and including `to`. */
export function chanceReached(forecast: UsageForecast, strips: number, from: Day, to: Day): number {
  if (strips <= 0) return 1
  const { mean, variance } = usageMoments(forecast, from, to)
  if (mean <= 0) return 0
  const shape = (mean * mean) / variance
  return gammaUpper(shape, (shape * strips) / mean)
}

/**
 * First day on which the chance of having cut `strips` reaches `probability`; null beyond the horizon. Binary search
 * over the calendar's running sum, after a first guess by the Wilson–Hilferty approximation (Wilson and Hilferty 1931).
 * @param chance by day, where several probabilities are asked for
 */
export function dayReached(
  forecast: UsageForecast,
  strips: number,
  from: Day,
  probability: number,
  chance: (day: Day) => number = (day) => chanceReached(forecast, strips, from, day),
): Day | null {
  if (strips <= 0) return Math.max(from, forecast.context.today)
  let low = from + 1
  const last = dayOnWhich(low, forecast.context.table.to, (day) => chance(day) >= probability)
  if (last === null) return null
  let high = last
  const guess = Math.min(last, guessDay(forecast, strips, from, probability))
  // A narrow bracket around the guess spares most evaluations of the incomplete gamma function.
  for (let span = 2; span < high - low; span *= 4) {
    const [near, far] = [Math.max(low, guess - span), Math.min(high, guess + span)]
    const below = near > low && chance(near) < probability
    const above = far < high && chance(far) >= probability
    if (below) low = near + 1
    if (above) high = far
    if ((below || near === low) && (above || far === high)) break
  }
  while (low < high) {
    const middle = (low + high) >> 1
    if (chance(middle) >= probability) high = middle
    else low = middle + 1
  }
  return low
}

/**
 * A day up to which to search. Far ahead the drift widens the forecast faster than its mean grows, so the chance may
 * have fallen again on the last day; nearer days are tried before the answer is 'never'.
 */
export function dayOnWhich(first: Day, last: Day, holds: (day: Day) => boolean): Day | null {
  for (let day = last; day > first; day = first + Math.floor((day - first) * 0.8)) if (holds(day)) return day
  return holds(first) ? first : null
}

function guessDay(forecast: UsageForecast, strips: number, from: Day, probability: number): Day {
  const z = normalQuantile(1 - probability)
  let low = from + 1
  let high = forecast.context.table.to
  while (low < high) {
    const middle = (low + high) >> 1
    const { mean, variance } = usageMoments(forecast, from, middle)
    const ninth = variance / (9 * mean * mean || 1)
    const quantile = mean <= 0 ? 0 : mean * Math.max(0, 1 - ninth + z * Math.sqrt(ninth)) ** 3
    if (quantile >= strips) high = middle
    else low = middle + 1
  }
  return low
}
