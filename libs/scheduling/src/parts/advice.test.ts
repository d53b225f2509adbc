import { describe, expect, it } from '@jest/globals'
import { normalCdf, normalQuantile } from '@tapewarden/reliability'
import fc from 'fast-check'
import { dateOf, dayOf } from '../time/day.js'
import { advisePart, NO_STOCK } from './advice.js'
import { chanceTakenBy, type PartPlace, type TaskThatTakes } from './place.js'
import { sayPieces } from './words.js'

const TODAY = dayOf('2026-03-02')
const open = (inDays: number): TaskThatTakes => ({
  taskName: 'Replace both motor brushes as a set',
  early: TODAY + inDays,
  likely: TODAY + inDays,
  late: TODAY + inDays,
  noLaterThan: null,
})
const dated = (early: number, likely: number, late: number | null, last: number | null = null): TaskThatTakes => ({
  taskName: 'Replace both motor brushes as a set',
  early: TODAY + early,
  likely: TODAY + likely,
  late: late === null ? null : TODAY + late,
  noLaterThan: last === null ? null : TODAY + last,
})
const place = (task: TaskThatTakes | null, more: Partial<PartPlace> = {}): PartPlace => ({
  machineId: 'm',
  labelCode: 'A-1',
  quantity: 1,
  tasks: task ? [task] : [],
  mayFail: null,
  ...more,
})
const ask = (places: readonly PartPlace[], held = NO_STOCK, service = 0.95, horizonDays = 90) =>
  advisePart(places, held, { today: TODAY, service, horizonDays })
const inDays = (days: number) => dateOf(TODAY + days)

/** Levels in fine steps, as a slow average. */
const LEVELS = Array.from({ length: 2000 }, (_, index) => (index + 0.5) / 2000)
const averaged = (f: (level: number) => number) => LEVELS.reduce((sum, level) => sum + f(level), 0) / LEVELS.length

describe('the day on which a task takes its part', () => {
  it('has its told early, likely and late days as 10, 50 and 90 %, whatever is shared', () => {
    const task = dated(10, 40, 100)
    for (const [day, share] of [
      [10, 0.1],
      [40, 0.5],
      [100, 0.9],
    ] as const)
      expect(averaged((level) => chanceTakenBy(task, TODAY + day, level))).toBeCloseTo(share, 3)
  })

  it('is certain from the day on which it may be no later, and of an open task exact', () => {
    expect(chanceTakenBy(dated(10, 40, 100, 60), TODAY + 60, 0.01)).toBe(1)
    expect([16, 17].map((day) => chanceTakenBy(open(17), TODAY + day, 0.5))).toEqual([0, 1])
  })

  it('of many alike is spread as a common factor spreads it (Vasicek 2002, Risk 15(12), the limit of a large portfolio)', () => {
    const task = dated(60, 90, 120)
    const chance = averaged((level) => chanceTakenBy(task, TODAY + 70, level))
    for (const level of [0.05, 0.5, 0.9, 0.95]) {
      const limit = normalCdf((normalQuantile(chance) + Math.sqrt(0.5) * normalQuantile(level)) / Math.sqrt(0.5))
      expect(chanceTakenBy(task, TODAY + 70, level)).toBeCloseTo(limit, 3)
    }
    const { needed } = ask(
      Array.from({ length: 1000 }, () => place(task)),
      NO_STOCK,
      0.95,
      70,
    )
    const limit = 1000 * normalCdf((normalQuantile(chance) + Math.sqrt(0.5) * normalQuantile(0.95)) / Math.sqrt(0.5))
    expect(Math.abs(needed - limit)).toBeLessThan(30)
  })
})

describe('the order', () => {
  it('of a part that is certainly needed is placed its lead time before; nothing is wanted where it is there', () => {
    expect(ask([place(open(17))])).toMatchObject({ expected: 1, needed: 1, missing: 1, orderBy: inDays(3), late: false, orderPieces: 1 })
    expect(ask([place(open(17))], { ...NO_STOCK, onHand: 1 })).toMatchObject({ missing: 0, orderBy: null, orderPieces: 0 })
    expect(ask([place(open(17))], { ...NO_STOCK, onOrder: 1 }).orderBy).toBeNull()
    expect(ask([place(open(5))])).toMatchObject({ orderBy: inDays(0), late: true })
    expect(ask([place(open(200))]).needed).toBe(0)
  })

  it('covers what is needed in the four weeks after it has come', () => {
    const places = [17, 20, 40, 45, 46, 120].map((day) => place(open(day)))
    // Arrives on day 17; day 45 is the last of the 28 days.
    expect(ask(places)).toMatchObject({ orderBy: inDays(3), orderPieces: 4, needed: 5 })
  })

  it('takes a set of two for one replacement, and one replacement for two causes', () => {
    expect(ask([place(open(10), { quantity: 2 })]).needed).toBe(2)
    expect(ask([place(null, { tasks: [open(10), open(12)] })]).needed).toBe(1)
  })

  it('comes earlier the surer one wants to be, and the less sure the delivery', () => {
    const places = Array.from({ length: 8 }, (_, index) => place(dated(20 + 3 * index, 50 + 4 * index, 90 + 5 * index)))
    const held = { onHand: 2, onOrder: 0, leadTimeDays: 10, leadTimeSpreadDays: 0 }
    const days = [0.5, 0.8, 0.95, 0.99].map((service) => ask(places, held, service).orderBy as string)
    expect(days).toEqual(days.toSorted().reverse())
    expect(new Set(days).size).toBe(4)
    expect((ask(places, { ...held, leadTimeSpreadDays: 6 }).orderBy as string) < (ask(places, held).orderBy as string)).toBe(true)
  })

  it('keeps its promise: of 20 000 futures drawn one by one the chosen share has every part in time', () => {
    const places = Array.from({ length: 12 }, (_, index) => place(dated(10 + 5 * index, 45 + 5 * index, 80 + 7 * index)))
    const held = { onHand: 1, onOrder: 0, leadTimeDays: 14, leadTimeSpreadDays: 0 }
    const { orderBy } = ask(places, held, 0.9)
    const arrives = dayOf(orderBy as string) + 14
    let seed = 20260302
    const random = () => {
      seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0
      return (seed + 0.5) / 2 ** 32
    }
    let served = 0
    for (let future = 0; future < 20_000; future++) {
      const common = normalQuantile(random())
      // A high score is an early day: the same factor as in the chances.
      const taken = places.filter(({ tasks: [task] }) => {
        const score = -(Math.sqrt(0.5) * common + Math.sqrt(0.5) * normalQuantile(random()))
        const { early, likely, late } = task as TaskThatTakes
        const width = score < 0 ? likely - (early as number) : (late as number) - likely
        return likely + (score / normalQuantile(0.9)) * width < arrives - 0.5
      }).length
      if (taken <= held.onHand) served++
    }
    expect(served / 20_000).toBeGreaterThan(0.89)
    // A day later it would no longer be kept; one day moves the share by less than two in a hundred.
    expect(served / 20_000).toBeLessThan(0.93)
  })

  it('never asks for more than all places can take, nor for less with less in stock', () => {
    const anyPlace = fc
      .tuple(
        fc.integer({ min: 0, max: 150 }),
        fc.integer({ min: 0, max: 90 }),
        fc.integer({ min: 0, max: 90 }),
        fc.integer({ min: 1, max: 3 }),
      )
      .map(([likely, before, after, quantity]) => place(dated(likely - before, likely, likely + after), { quantity }))
    fc.assert(
      fc.property(fc.array(anyPlace, { maxLength: 12 }), fc.integer({ min: 0, max: 8 }), (places, onHand) => {
        const held = { onHand, onOrder: 0, leadTimeDays: 14, leadTimeSpreadDays: 0 }
        const [less, more] = [ask(places, held), ask(places, { ...held, onHand: onHand + 1 })]
        const most = places.reduce((sum, { quantity }) => sum + quantity, 0)
        expect(less.needed).toBeLessThanOrEqual(most)
        expect(less.needed).toBeGreaterThanOrEqual(Math.floor(less.expected * 0.5))
        expect(less.orderPieces).toBeLessThanOrEqual(Math.max(1, most))
        expect((less.orderBy ?? '9') <= (more.orderBy ?? '9')).toBe(true)
      }),
      { numRuns: 60 },
    )
  })
})

describe('parts that may fail', () => {
  const life = { shape: 2.934, scaleYears: 13.76, removals: 0, failures: 0, shapeLower95: null }
  const blade = (ageYears: number | null) => place(null, { mayFail: { ageYears, life } })

  it('are needed the more the older they are; by the trade range one in twenty before five years (common practice, no source)', () => {
    const within = (ageYears: number | null, days: number) => ask([blade(ageYears)], NO_STOCK, 0.95, days).expected
    expect(within(0, 1826)).toBeCloseTo(0.05, 2)
    expect(within(15, 90)).toBeGreaterThan(within(5, 90) * 3)
  })

  it('of unknown age fail at the mean rate: mean life 12.28 years by scale × Γ(1 + 1/shape), Γ from Abramowitz & Stegun, table 6.1', () => {
    // Γ(1.34) = 0.89222 and Γ(1.345) = 0.89148 in the table; 13.76 × 0.8923 = 12.28.
    expect(ask([blade(null)], NO_STOCK, 0.95, 364).expected).toBeCloseTo(1 - Math.exp(-365 / 365.25 / 12.28), 4)
  })

  it('ask for one on the shelf of a hall where a failure in the lead time is no longer unlikely', () => {
    expect(ask([blade(8)]).orderBy).toBeNull()
    expect(ask(Array.from({ length: 40 }, () => blade(8)))).toMatchObject({ orderBy: inDays(0), late: true })
  })
})

it('pieces are said as one counts', () => {
  expect([0.01, 0.1, 0.2, 1.1, 3.4, 127].map(sayPieces)).toEqual([
    'Hardly one will be needed',
    'One may be needed, about 1 time in 10',
    'One may be needed, about 2 times in 10',
    'About 1 will be needed',
    'About 3 will be needed',
    'About 130 will be needed',
  ])
})
