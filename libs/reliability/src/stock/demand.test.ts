import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { anyCause, demandWithin, leadNodes, LEVEL_NODES, piecesNeeded, type Place } from './demand.js'
import { orderAdvice, reorderPointOf, servedChance, shortForVisits } from './order-by.js'
import { poissonBinomial } from './poisson-binomial.js'

const near = (actual: number | undefined, wanted: number, absolute: number): void =>
  expect(Math.abs((actual ?? Number.NaN) - wanted)).toBeLessThanOrEqual(absolute)
const meanOf = (chances: readonly number[]): number => chances.reduce((sum, chance, pieces) => sum + pieces * chance, 0)

/** Falls due once, after a wear that is spread evenly from half to one and a half times `days`, quicker at a high level. */
const wearing = (days: number, quantity = 1): Place => ({
  quantity,
  chanceWithin: (within, level) => Math.min(1, Math.max(0, (within * (0.6 + 0.8 * level)) / days - 0.5)),
})

describe('pieces needed', () => {
  const places = fc.array(fc.record({ quantity: fc.integer({ min: 1, max: 3 }), chance: fc.double({ min: 0, max: 1, noNaN: true }) }), {
    maxLength: 8,
  })

  it('equal enumeration of all outcomes', () => {
    fc.assert(
      fc.property(places, (list) => {
        const counted = new Array<number>(list.reduce((sum, { quantity }) => sum + quantity, 0) + 1).fill(0)
        for (let mask = 0; mask < 2 ** list.length; mask++) {
          let [chance, pieces] = [1, 0]
          for (const [index, place] of list.entries()) {
            const happens = ((mask >> index) & 1) === 1
            chance *= happens ? place.chance : 1 - place.chance
            if (happens) pieces += place.quantity
          }
          counted[pieces]! += chance
        }
        for (const [pieces, chance] of piecesNeeded(list).entries()) near(chance, counted[pieces] ?? 0, 1e-12)
      }),
    )
  })

  it('of one piece each are the Poisson–binomial', () => {
    const chances = [0.1, 0.4, 0.5, 0.99]
    const wanted = poissonBinomial(chances)
    for (const [pieces, chance] of piecesNeeded(chances.map((chance) => ({ quantity: 1, chance }))).entries())
      near(chance, wanted[pieces] ?? 0, 1e-15)
  })

  it('of many places leave out only what has no chance: 3 000 places equal the whole Poisson–binomial', () => {
    const chances = Array.from({ length: 3000 }, (_, index) => 0.001 + (index % 7) * 0.01)
    const wanted = poissonBinomial(chances)
    const found = piecesNeeded(chances.map((chance) => ({ quantity: 1, chance })))
    expect(found.length).toBeLessThan(600)
    for (const [pieces, chance] of wanted.entries()) near(found[pieces] ?? 0, chance, 2e-15)
  })

  it('refuse half pieces and chances outside 0..1', () => {
    expect(() => piecesNeeded([{ quantity: 0.5, chance: 0.1 }])).toThrow('places[0].quantity')
    expect(() => piecesNeeded([{ quantity: 1, chance: Number.NaN }])).toThrow('places[0]')
  })
})

describe('demand in a lead time', () => {
  it('agrees with a slow average over many levels and leads', () => {
    const places = [wearing(60), wearing(90, 2), wearing(200), wearing(45)]
    const fast = demandWithin(places, 10, leadNodes(30, 8))
    const slow = new Array<number>(6).fill(0)
    const levels = Array.from({ length: 400 }, (_, index) => ({ value: (index + 0.5) / 400, weight: 1 / 400 }))
    for (const [pieces, chance] of demandWithin(places, 10, leadNodes(30, 8), levels).entries()) slow[pieces] = chance
    for (const [pieces, chance] of fast.entries()) near(chance, slow[pieces] ?? 0, 0.01)
    near(
      fast.reduce((a, b) => a + b, 0),
      1,
      1e-12,
    )
  })

  it('is wider than the plain sum of independent places with the same mean', () => {
    const places = Array.from({ length: 40 }, () => wearing(100))
    const together = demandWithin(places, 0, leadNodes(90, 0))
    const chance = LEVEL_NODES.reduce((sum, { value, weight }) => sum + weight * (places[0] as Place).chanceWithin(90, value), 0)
    const plain = [...piecesNeeded(places.map(() => ({ quantity: 1, chance })))]
    near(meanOf(together), meanOf(plain), 1e-9)
    expect(reorderPointOf(together, 0.95)).toBeGreaterThan(reorderPointOf(plain, 0.95))
  })

  it('a lead time keeps its mean and sd; a certain one is one node', () => {
    const nodes = leadNodes(30, 8)
    const mean = nodes.reduce((sum, { value, weight }) => sum + weight * value, 0)
    near(mean, 30, 0.05)
    near(Math.sqrt(nodes.reduce((sum, { value, weight }) => sum + weight * (value - mean) ** 2, 0)), 8, 0.3)
    expect(leadNodes(30, 0)).toEqual([{ value: 30, weight: 1 }])
  })

  it('one replacement by any of several causes', () => {
    near(anyCause([0.5, 0.5]), 0.75, 1e-15)
    expect(anyCause([])).toBe(0)
    expect(anyCause([0.3, 1])).toBe(1)
  })
})

describe('when to order', () => {
  const held = (onHand: number, onOrder = 0, reserved = 0) => ({ onHand, onOrder, reserved })
  const certain = (day: number): Place => ({ quantity: 1, chanceWithin: (days) => (days >= day ? 1 : 0) })

  it('by hand: parts certainly needed on days 20, 50 and 80, lead 14 days, two in stock: order by day 65', () => {
    const advice = orderAdvice([certain(20), certain(50), certain(80)], held(2), leadNodes(14, 0), 0.95, 365)
    expect(advice).toEqual({ reorderPoint: 0, position: 2, orderInDays: 65, late: false })
  })

  it('reserved pieces are gone, ordered ones are there', () => {
    const places = [certain(20), certain(50)]
    expect(orderAdvice(places, held(1, 1, 0), leadNodes(14, 0), 0.95, 365).orderInDays).toBeNull()
    expect(orderAdvice(places, held(1, 1, 2), leadNodes(25, 0), 0.95, 365)).toMatchObject({ position: 0, orderInDays: 0, late: true })
  })

  it('agrees with asking every day', () => {
    const random = fc.record({
      days: fc.array(fc.integer({ min: 20, max: 400 }), { minLength: 1, maxLength: 6 }),
      onHand: fc.integer({ min: 0, max: 4 }),
    })
    fc.assert(
      fc.property(random, ({ days, onHand }) => {
        const places = days.map((each) => wearing(each))
        const leads = leadNodes(20, 5)
        const advice = orderAdvice(places, held(onHand), leads, 0.9, 200)
        let last = -1
        for (let day = 0; day <= 200; day++) if (servedChance(demandWithin(places, day, leads), onHand) >= 0.9 - 1e-12) last = day
        expect(advice.late ? -1 : (advice.orderInDays ?? 200)).toBe(last)
        expect(advice.late).toBe(advice.reorderPoint > onHand)
      }),
      { numRuns: 25 },
    )
  })

  it('short for visits, by hand: two on hand, three arrive on day 10', () => {
    const needs = [
      { day: 12, pieces: 3 },
      { day: 5, pieces: 1 },
      { day: 8, pieces: 2 },
    ]
    expect(shortForVisits(2, [{ day: 10, pieces: 3 }], needs)).toEqual([{ day: 8, pieces: 2, short: 1 }])
    expect(shortForVisits(0, [], needs).map(({ short }) => short)).toEqual([1, 2, 3])
    expect(shortForVisits(9, [], needs)).toEqual([])
  })
})
