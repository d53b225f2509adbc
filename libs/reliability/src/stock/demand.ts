/**
 * Demand for a part by a day, over all places where it may be needed. Places rise and fall together (season, common
 * parameters), so chances are taken given the shared level and mixed over it, and over the spread of the lead time; the
 * plain sum of independent places would be too narrow.
 */
import { InvalidInput, requireNotNegative } from '../special/errors.js'
import { gammaQuantile } from '../special/gamma.js'
import { EIGHT_POINTS } from '../hierarchy/gauss-legendre.js'

export interface Place {
  /** Pieces that one replacement takes; whole, ≥ 1. */
  quantity: number
  /**
   * Chance of one replacement within so many days, by whatever comes first, given the shared level.
   * @param level 0..1, the quantile at which the shared level stands
   */
  chanceWithin(days: number, level: number): number
}

export interface WeightedValue {
  value: number
  /** Chance; all of a list together 1. */
  weight: number
}

/** Eight Gauss points on the quantile scale of the shared level. */
export const LEVEL_NODES: readonly WeightedValue[] = EIGHT_POINTS.map(([x, weight]) => ({ value: (1 + x) / 2, weight: weight / 2 }))

/** One replacement at most: chance that any of several independent causes brings it, given the level. */
export const anyCause = (chances: readonly number[]): number => 1 - chances.reduce((none, chance) => none * (1 - chance), 1)

/** Days of a lead time as nodes of a gamma distribution with this mean and sd; one node where it is certain. */
export function leadNodes(meanDays: number, sdDays: number): WeightedValue[] {
  requireNotNegative('meanDays', meanDays)
  requireNotNegative('sdDays', sdDays)
  if (sdDays === 0 || meanDays === 0) return [{ value: meanDays, weight: 1 }]
  const shape = (meanDays / sdDays) ** 2
  return LEVEL_NODES.map(({ value, weight }) => ({ value: (gammaQuantile(value, shape) * meanDays) / shape, weight }))
}

const FAR = 23

function mostPieces(places: readonly { quantity: number; chance: number }[]): number {
  let [all, mean, variance, largest] = [0, 0, 0, 0]
  for (const { quantity, chance } of places) {
    all += quantity
    mean += quantity * chance
    variance += quantity * quantity * chance * (1 - chance)
    largest = Math.max(largest, quantity)
  }
  const far = Math.ceil(mean + FAR * (Math.sqrt(variance) + largest))
  return far < all ? far : all
}

/**
 * Chances of 0, 1, 2 … pieces, given independent places. Exact up to rounding; O(places × pieces), of which those beyond
 * 23 standard deviations and 23 of the largest quantity above the mean are left out: less than 2e-15 of chance
 * (Bernstein's inequality: Boucheron, Lugosi & Massart, Concentration Inequalities, 2013, theorem 2.10).
 * Source: Hong 2013, Computational Statistics & Data Analysis 59:41–51, with quantities.
 * @param atMost only so many pieces are of interest; the chances of more are left out
 */
export function piecesNeeded(places: readonly { quantity: number; chance: number }[], atMost = Infinity): Float64Array {
  const most = Math.min(atMost, mostPieces(places))
  const chances = new Float64Array(most + 1)
  chances[0] = 1
  let reached = 0
  for (const [index, { quantity, chance }] of places.entries()) {
    if (!Number.isInteger(quantity) || quantity < 1)
      throw new InvalidInput(`places[${index}].quantity`, 'must be a whole number, 1 or more')
    if (!(chance >= 0 && chance <= 1)) throw new InvalidInput(`places[${index}]`, 'must give a chance between 0 and 1')
    for (let pieces = Math.min(most, reached + quantity); pieces >= 0; pieces--) {
      const stay = pieces <= reached ? (chances[pieces] as number) * (1 - chance) : 0
      const rise = pieces >= quantity ? (chances[pieces - quantity] as number) * chance : 0
      chances[pieces] = stay + rise
    }
    reached += quantity
  }
  return chances
}

/**
 * Chances of 0, 1, 2 … pieces by `afterDays` plus a lead time.
 * @param leads lead times in days, weights summing to 1   @param levels nodes of the shared level, likewise
 * @param atMost only so many pieces are of interest; the chances of more are left out
 */
export function demandWithin(
  places: readonly Place[],
  afterDays: number,
  leads: readonly WeightedValue[],
  levels: readonly WeightedValue[] = LEVEL_NODES,
  atMost = Infinity,
): number[] {
  const all = places.reduce((sum, { quantity }) => sum + quantity, 0)
  const mixed = new Float64Array(Math.min(atMost, all) + 1)
  for (const lead of leads)
    for (const level of levels) {
      const given = places.map(({ quantity, chanceWithin }) => ({
        quantity,
        chance: chanceWithin(afterDays + lead.value, level.value),
      }))
      for (const [pieces, chance] of piecesNeeded(given, atMost).entries())
        mixed[pieces] = (mixed[pieces] as number) + lead.weight * level.weight * chance
    }
  return [...mixed]
}
