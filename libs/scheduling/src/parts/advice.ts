/** What the dates ask for of one part in one warehouse, at a chosen chance that it is there when it is needed. */
import { demandWithin, leadNodes, orderAdvice, type Place, reorderPointOf } from '@tapewarden/reliability'
import type { Day } from '../model.js'
import { dateOf } from '../time/day.js'
import { type PartPlace, placeOf } from './place.js'

export interface PartStockHeld {
  onHand: number
  onOrder: number
  leadTimeDays: number
  /** Standard deviation of the lead time. */
  leadTimeSpreadDays: number
}

export interface PartQuestion {
  today: Day
  /** Chance, 0..1, that nothing is missing. */
  service: number
  /** Today and so many days after it. */
  horizonDays: number
}

export interface PlaceChance {
  place: PartPlace
  /** Within the horizon. */
  chance: number
}

export interface PartAdvice {
  /** Pieces, mean, within the horizon. */
  expected: number
  /** Least pieces that suffice with the chosen chance. */
  needed: number
  /** Of them neither there nor on order. */
  missing: number
  /** Last day on which an order still keeps the chance; null: not within the horizon. */
  orderBy: string | null
  /** Even an order today comes too late to keep the chance. */
  late: boolean
  /** Pieces of that order: they last four weeks beyond its arrival. 0 where none is advised. */
  orderPieces: number
  /** Most likely first. */
  places: PlaceChance[]
}

/** Where nothing is stated of a part's lead time (assumption). */
export const USUAL_LEAD_DAYS = 14
export const NO_STOCK: PartStockHeld = { onHand: 0, onOrder: 0, leadTimeDays: USUAL_LEAD_DAYS, leadTimeSpreadDays: 0 }

/** An order covers what is needed in this time after it has come. */
const COVER_DAYS = 28
/** The longest lead node lies this many spreads above its mean, at most. */
const FAR_SPREADS = 6
const NEGLIGIBLE = 1e-9
const ONCE = [{ value: 0, weight: 1 }]
/** Equal shares of the shared level, each by its middle: with many places a quantile of demand is one of the level. */
const SHARES = 40
const LEVELS = Array.from({ length: SHARES }, (_, index) => ({ value: (index + 0.5) / SHARES, weight: 1 / SHARES }))
const TOP_LEVEL = 1 - 0.5 / SHARES

const meanChance = (place: Place, days: number): number =>
  LEVELS.reduce((sum, { value }) => sum + place.chanceWithin(days, value), 0) / SHARES

/**
 * Demand by whatever comes first at each place, places rising and falling together; see `demandWithin`.
 * Open tasks are among the places, so what is reserved for them is not taken off the stock as well.
 * @param places whole quantities ≥ 1   @param question.service strictly between 0 and 1
 */
export function advisePart(places: readonly PartPlace[], held: PartStockHeld, { today, service, horizonDays }: PartQuestion): PartAdvice {
  const days = horizonDays + 1
  const far = days + COVER_DAYS + held.leadTimeDays + FAR_SPREADS * held.leadTimeSpreadDays
  const able = places.map((place) => ({ place, math: placeOf(place, today) }))
  const demand = able.filter(({ math }) => math.chanceWithin(far, TOP_LEVEL) > NEGLIGIBLE).map(({ math }) => math)
  const leads = leadNodes(held.leadTimeDays, held.leadTimeSpreadDays)
  const chances = able.map(({ place, math }) => ({ place, chance: meanChance(math, days) }))
  const needed = reorderPointOf(demandWithin(demand, days, ONCE, LEVELS), service)
  const stock = { onHand: held.onHand, onOrder: held.onOrder, reserved: 0 }
  const { orderInDays, late, position } = orderAdvice(demand, stock, leads, service, horizonDays, LEVELS)
  const covered = orderInDays === null ? 0 : reorderPointOf(demandWithin(demand, orderInDays + COVER_DAYS + 1, leads, LEVELS), service)
  return {
    expected: chances.reduce((sum, { place, chance }) => sum + place.quantity * chance, 0),
    needed,
    missing: Math.max(0, needed - position),
    orderBy: orderInDays === null ? null : dateOf(today + orderInDays),
    late,
    orderPieces: orderInDays === null ? 0 : Math.max(1, covered - position),
    places: chances.filter(({ chance }) => chance > NEGLIGIBLE).toSorted((a, b) => b.chance - a.chance),
  }
}
