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
/** Spread between machines of ln k without data (assumption). */
export const RATE_LOG_SD = 0.45
const GRID = 61

export interface WearRate {
  /** Mean and spread of ln(mm a strip) over the fleet's sets of this type. */
  logMean: number
  logSd: number
  sets: number
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

export function statedRate(facts: Pick<MachineTypeFacts, 'brushNewMm' | 'brushPlanLimitMm' | 'stripsFromNewToPlanLimit'>): number {
  return (facts.brushNewMm - facts.brushPlanLimitMm) / facts.stripsFromNewToPlanLimit
}

/** Measurements that count: one longer than the last by more than measuring can explain is left out, with its index told. */
export function refuseLonger(lengths: readonly { lengthMm: number }[]): { kept: number[]; refused: number[] } {
  const kept: number[] = []
  const refused: number[] = []
  let last = Number.POSITIVE_INFINITY
  for (const [index, { lengthMm }] of lengths.entries()) {
    if (lengthMm > last + 4 * MEASURING_SD_MM) refused.push(index)
    else {
      kept.push(index)
      last = Math.min(last, lengthMm)
    }
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
  const noise = MEASURING_SD_MM ** 2
  for (let index = 0; index < GRID; index++) {
    const z = -4 + (8 * index) / (GRID - 1)
    const rate = Math.exp(fleet.logMean + fleet.logSd * z)
    let mean = startMean
    let variance = startSd ** 2
    let logWeight = -0.5 * z * z
    for (const { use, lengthMm } of points) {
      const residual = lengthMm + rate * use - mean
      const total = variance + noise
      logWeight -= 0.5 * (Math.log(total) + (residual * residual) / total)
      mean += (variance / total) * residual
      variance -= (variance * variance) / total
    }
    rates[index] = rate
    logWeights[index] = logWeight
    lengthNow[index] = mean - rate * now
    lengthNowSd[index] = Math.sqrt(variance)
  }
  const top = Math.max(...logWeights)
  const raw = logWeights.map((value) => Math.exp(value - top))
  const sum = raw.reduce((a, b) => a + b, 0)
  return { rates, weights: raw.map((value) => value / sum), lengthNow, lengthNowSd, usedStrips: now, measurements }
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

/** The fleet's rates by type: sets measured at least twice, shrunken towards the stated rate, which counts as two sets. */
export function poolWear(sets: readonly { lengths: ComponentInPlace['lengths'] }[], facts: MachineTypeFacts): WearRate {
  const stated = Math.log(statedRate(facts))
  const logs: number[] = []
  for (const { lengths } of sets) {
    const points = refuseLonger(lengths).kept.map((index) => lengths[index]!)
    const first = points[0]
    const last = points.at(-1)
    if (!first || !last) continue
    const [fall, use] =
      first.usedStrips !== null && last.usedStrips !== null && last.usedStrips > 0
        ? [facts.brushNewMm - last.lengthMm, last.usedStrips]
        : [first.lengthMm - last.lengthMm, last.stripsTotal - first.stripsTotal]
    if (use > 0 && fall > 0.3) logs.push(Math.log(fall / use))
  }
  const logMean = (logs.reduce((a, b) => a + b, 0) + 2 * stated) / (logs.length + 2)
  const variance = (logs.reduce((a, b) => a + (b - logMean) ** 2, 0) + 2 * RATE_LOG_SD ** 2) / (logs.length + 2)
  return { logMean, logSd: Math.sqrt(variance), sets: logs.length }
}
