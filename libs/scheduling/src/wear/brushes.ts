/**
 * Wear of a motor brush set: length = L0 − k·use + error, with L0 near the stated new length and ln k shrunken towards
 * the fleet's. The new length is integrated out exactly given k, k on a grid; the crossing is of the true length.
 */
import { normalCdf } from '@tapewarden/reliability'
import type { ComponentInPlace, MachineTypeFacts } from '../model.js'
import type { StripsNode } from '../combine/first-due.js'

/** Standard deviations: of a new brush's length, of one measuring (common practice: a rule or caliper on site), both mm. */
export const NEW_LENGTH_SD_MM = 0.25
export const MEASURING_SD_MM = 0.12
/** A measurement now and then is misread: how often, and by how much (assumptions). */
const MISREAD_CHANCE = 0.03
const MISREAD_SD_MM = 1
const LOG_ODDS_OF_MISREAD = Math.log(MISREAD_CHANCE / (1 - MISREAD_CHANCE))
/** Only so many of the latest points are tried as misread: of earlier ones the later points have told. */
const MISREAD_AMONG = 6
const GRID = 61

/** What is known of the rate of a set before its own measurements: mean and spread of ln(mm a strip). */
export interface WearRate {
  logMean: number
  logSd: number
}

export interface WearPosterior {
  /** Weights over a grid of rates. */
  rates: Float64Array
  weights: Float64Array
  /** Mean and spread of the true length now, given each rate. */
  lengthNow: Float64Array
  lengthNowSd: Float64Array
  usedStrips: number
  measurements: number
}

/** Largest slip of the eye that one measurement is taken to have; more of a rise looks like a set that was replaced, mm. */
export const MISREAD_AT_MOST_MM = 1.5
const TELLING_MM = 4 * MEASURING_SD_MM

/**
 * Measurements that count: one longer than the last by more than measuring can explain is left out, with its index told.
 * Where two that agree with each other lie above one that stood alone, that one was misread and is left out instead.
 */
export function refuseLonger(lengths: readonly { lengthMm: number }[]): { kept: number[]; refused: number[] } {
  const kept: number[] = []
  const refused: number[] = []
  const at = (index: number | undefined): number =>
    index === undefined ? Number.POSITIVE_INFINITY : (lengths[index]?.lengthMm ?? Number.NaN)
  const shortest = (): number => Math.min(...kept.map(at), Number.POSITIVE_INFINITY)
  for (const index of lengths.keys()) {
    if (at(index) <= shortest() + TELLING_MM) {
      kept.push(index)
      continue
    }
    const [last, before] = [kept.at(-1), refused.at(-1)]
    const agree = before !== undefined && last !== undefined && before > last && at(index) <= at(before) + TELLING_MM
    if (agree && at(index) - at(last) < MISREAD_AT_MOST_MM && kept.slice(0, -1).every((one) => at(before) <= at(one) + TELLING_MM)) {
      kept.splice(-1, 1, before, index)
      refused.splice(-1, 1, last)
    } else refused.push(index)
  }
  return { kept, refused }
}

/** Posterior given the set's measurements with known use since new; null where its use is not known and nothing was measured. */
export function fitWear(
  set: Pick<ComponentInPlace, 'lengths'>,
  usedNow: number | null,
  facts: MachineTypeFacts,
  fleet: WearRate,
): WearPosterior | null {
  const { kept } = refuseLonger(set.lengths)
  const points = kept.map((index) => set.lengths[index]!)
  const known = points.filter(({ usedStrips }) => usedStrips !== null)
  if (usedNow === null && points.length === 0) return null
  // Use counts from new where that is known, else from the first measurement, whose length is then all that is known of the start.
  const fromNew = usedNow !== null && known.length === points.length
  const first = points[0]
  const origin = fromNew || !first ? 0 : first.stripsTotal
  const useOf = (point: (typeof points)[number]): number => (fromNew ? (point.usedStrips as number) : point.stripsTotal - origin)
  const latest = points.at(-1)
  const now = fromNew ? (usedNow as number) : latest ? Math.max(0, latest.stripsTotal - origin) : 0
  const startMean = fromNew ? facts.brushNewMm : (first?.lengthMm ?? facts.brushNewMm)
  const startSd = fromNew ? NEW_LENGTH_SD_MM : MEASURING_SD_MM
  const rest = fromNew ? points : points.slice(1)
  return gridPosterior(
    rest.map((point) => ({ use: useOf(point), lengthMm: point.lengthMm })),
    { startMean, startSd, now, fleet, measurements: points.length },
  )
}

function gridPosterior(
  points: readonly { use: number; lengthMm: number }[],
  {
    startMean,
    startSd,
    now,
    fleet,
    measurements,
  }: { startMean: number; startSd: number; now: number; fleet: WearRate; measurements: number },
): WearPosterior {
  const rates = new Float64Array(GRID)
  const logWeights = new Float64Array(GRID)
  const lengthNow = new Float64Array(GRID)
  const lengthNowSd = new Float64Array(GRID)
  for (let index = 0; index < GRID; index++) {
    const z = -4 + (8 * index) / (GRID - 1)
    const rate = Math.exp(fleet.logMean + fleet.logSd * z)
    const start = startGiven(points, rate, startMean, startSd)
    rates[index] = rate
    logWeights[index] = start.logWeight - 0.5 * z * z
    lengthNow[index] = start.mean - rate * now
    lengthNowSd[index] = Math.sqrt(start.variance)
  }
  const top = Math.max(...logWeights)
  const raw = logWeights.map((value) => Math.exp(value - top))
  const sum = raw.reduce((a, b) => a + b, 0)
  return { rates, weights: raw.map((value) => value / sum), lengthNow, lengthNowSd, usedStrips: now, measurements }
}

interface Start {
  mean: number
  variance: number
  logWeight: number
}

/** The start length given one rate, one of the points (or none: −1) being misread. */
function startIf(
  misread: number,
  points: readonly { use: number; lengthMm: number }[],
  rate: number,
  startMean: number,
  startSd: number,
): Start {
  let mean = startMean
  let variance = startSd ** 2
  let logWeight = misread < 0 ? 0 : LOG_ODDS_OF_MISREAD
  for (const [index, { use, lengthMm }] of points.entries()) {
    const residual = lengthMm + rate * use - mean
    const total = variance + MEASURING_SD_MM ** 2 + (index === misread ? MISREAD_SD_MM ** 2 : 0)
    logWeight -= 0.5 * (Math.log(total) + (residual * residual) / total)
    mean += (variance / total) * residual
    variance -= (variance * variance) / total
  }
  return { mean, variance, logWeight }
}

/** Over which of the latest points was misread, if any; at most one is. Two moments of the mixture are kept. */
function startGiven(points: readonly { use: number; lengthMm: number }[], rate: number, startMean: number, startSd: number): Start {
  let top = startIf(-1, points, rate, startMean, startSd)
  if (points.length === 0) return top
  const starts = [top]
  for (let misread = Math.max(0, points.length - MISREAD_AMONG); misread < points.length; misread++) {
    const start = startIf(misread, points, rate, startMean, startSd)
    starts.push(start)
    if (start.logWeight > top.logWeight) top = start
  }
  let [total, mean, square] = [0, 0, 0]
  for (const start of starts) {
    const weight = Math.exp(start.logWeight - top.logWeight)
    const away = start.mean - top.mean
    total += weight
    mean += weight * away
    square += weight * (start.variance + away * away)
  }
  const away = mean / total
  return { mean: top.mean + away, variance: square / total - away * away, logWeight: top.logWeight + Math.log(total) }
}

/** Standard deviations beyond which the normal distribution is 0 or 1 to the last digit of a double. */
const CERTAIN = 8.3

/** Chance that the true length has fallen below `limitMm` after `more` further strips. */
export function chanceBelow(posterior: WearPosterior, limitMm: number, more: number): number {
  const { rates, weights, lengthNow, lengthNowSd } = posterior
  let chance = 0
  for (let index = 0; index < rates.length; index++) {
    const length = (lengthNow[index] as number) - (rates[index] as number) * more
    const deviations = (limitMm - length) / Math.max(1e-6, lengthNowSd[index] as number)
    if (deviations > CERTAIN) chance += weights[index] as number
    else if (deviations > -CERTAIN) chance += (weights[index] as number) * normalCdf(deviations)
  }
  return chance
}

/**
 * Further strips at which the chance of being below the limit reaches `probability`; 0 where it has already.
 * Straight lines through the ends of the bracket, and halving where they gain too little; right to half a strip.
 */
export function stripsUntilBelow(posterior: WearPosterior, limitMm: number, probability: number): number {
  const above = (more: number) => chanceBelow(posterior, limitMm, more) - probability
  let [low, atLow] = [0, above(0)]
  if (atLow >= 0) return 0
  let high = 1000
  let atHigh = above(high)
  while (atHigh < 0 && high < 1e9) {
    ;[low, atLow] = [high, atHigh]
    high *= 2
    atHigh = above(high)
  }
  for (let step = 0; step < 100 && high - low > 0.5; step++) {
    const width = high - low
    const line = low - (atLow * width) / (atHigh - atLow)
    // A step beyond the line closes the bracket from the other side; every third step halves it whatever the line says.
    const guess = step % 3 === 2 ? low + width / 2 : line + (step % 2 === 0 ? 0.2 : -0.2) * Math.min(1, width / 4)
    const more = Math.min(high - width * 1e-3, Math.max(low + width * 1e-3, guess))
    const value = above(more)
    if (value >= 0) [high, atHigh] = [more, value]
    else [low, atLow] = [more, value]
  }
  return high
}

/** Nodes of the further strips to the crossing, given that it has not been crossed: equal shares of probability. */
export function crossingNodes(posterior: WearPosterior, limitMm: number, count = 24): StripsNode[] {
  const crossed = chanceBelow(posterior, limitMm, 0)
  return Array.from({ length: count }, (_, index) => {
    const share = (index + 0.5) / count
    return { remaining: stripsUntilBelow(posterior, limitMm, Math.min(1 - 1e-9, crossed + (1 - crossed) * share)), weight: 1 / count }
  })
}
