/** When to order a part, how many, and what is short for the visits already planned. */
import { InvalidInput, requireBetween } from '../special/errors.js'
import { demandWithin, LEVEL_NODES, type Place, type WeightedValue } from './demand.js'

export interface StockHeld {
  onHand: number
  onOrder: number
  reserved: number
}

/** Pieces that future demand may draw on; below 0 where more is reserved than there is. */
export const stockPosition = ({ onHand, onOrder, reserved }: StockHeld): number => onHand + onOrder - reserved

const RANGE = 1e-12

/** Chance that the demand is at most so many pieces. */
export function servedChance(chances: readonly number[], pieces: number): number {
  let sum = 0
  for (let index = 0; index <= Math.min(Math.floor(pieces), chances.length - 1); index++) sum += chances[index] as number
  return Math.min(1, sum)
}

/** Least stock position at which the lead time is survived with the asked chance. Rounding of the sum is allowed for. */
export function reorderPointOf(chances: readonly number[], service: number): number {
  requireBetween('service', service, 0, 1)
  let sum = 0
  const found = chances.findIndex((chance) => (sum += chance) >= service - RANGE)
  return found < 0 ? chances.length - 1 : found
}

export interface OrderAdvice {
  /** Least position for the asked service over one lead time from today. */
  reorderPoint: number
  position: number
  /** Latest day from today on which ordering still keeps the service; 0: today, or already too late; null: not within the horizon. */
  orderInDays: number | null
  /** True where even an order today does not keep the service. */
  late: boolean
}

/**
 * Demand only grows with time, so the day is found by halving: O(log horizon) distributions.
 * @param horizonDays how far to look, whole, ≥ 0
 */
export function orderAdvice(
  places: readonly Place[],
  held: StockHeld,
  leads: readonly WeightedValue[],
  service: number,
  horizonDays: number,
  levels: readonly WeightedValue[] = LEVEL_NODES,
): OrderAdvice {
  requireBetween('service', service, 0, 1)
  if (!Number.isInteger(horizonDays) || horizonDays < 0) throw new InvalidInput('horizonDays', 'must be a whole number, 0 or more')
  const position = stockPosition(held)
  const keeps = (days: number): boolean =>
    position >= 0 && servedChance(demandWithin(places, days, leads, levels, position), position) >= service - RANGE
  const reorderPoint = reorderPointOf(demandWithin(places, 0, leads, levels), service)
  if (!keeps(0)) return { reorderPoint, position, orderInDays: 0, late: true }
  if (keeps(horizonDays)) return { reorderPoint, position, orderInDays: null, late: false }
  let [low, high] = [0, horizonDays]
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2)
    if (keeps(middle)) low = middle
    else high = middle
  }
  return { reorderPoint, position, orderInDays: low, late: false }
}

export interface VisitNeed {
  /** Days, on the same count as arrivals. */
  day: number
  pieces: number
}

export interface VisitShortage extends VisitNeed {
  short: number
}

/** Pieces missing at each visit when earlier ones are served first; an arrival serves its own day. In the order of the days. */
export function shortForVisits(onHand: number, arrivals: readonly VisitNeed[], needs: readonly VisitNeed[]): VisitShortage[] {
  const coming = arrivals.toSorted((a, b) => a.day - b.day)
  let [left, arrived] = [onHand, 0]
  return needs
    .toSorted((a, b) => a.day - b.day)
    .flatMap(({ day, pieces }) => {
      for (; arrived < coming.length && (coming[arrived] as VisitNeed).day <= day; arrived++) left += (coming[arrived] as VisitNeed).pieces
      const short = Math.max(0, pieces - left)
      left = Math.max(0, left - pieces)
      return short > 0 ? [{ day, pieces, short }] : []
    })
}
