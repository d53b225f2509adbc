import { describe, expect, it } from '@jest/globals'
import { TYPE } from '../planning/plans-for-tests.js'
import type { OwnLevel } from './own-level.js'
import { poolTypes, type UseElsewhere } from './pools.js'

const USUAL = TYPE.usualStripsPerDay
const types = { type: TYPE }
const elsewhere = (count: number, level: number, more: Partial<UseElsewhere> = {}): UseElsewhere[] =>
  Array.from({ length: count }, () => ({ machineTypeId: 'type', logMean: Math.log(level), logSd: 0.3, machines: 30, ...more }))
const counted = (level: number): OwnLevel => ({ mean: level, scatterVariance: 0.001, lagVariance: 0, kindError: 0 })
const pool = (own: readonly OwnLevel[], others: readonly UseElsewhere[]) => {
  const { logMean, logSd } = poolTypes(types, new Map([['type', own]]), others).type as { logMean: number; logSd: number }
  return { level: Math.exp(logMean), logSd }
}

describe('a type without evidence in its warehouse', () => {
  it('is used as stated where nothing else is known', () => {
    expect(pool([], []).level).toBeCloseTo(USUAL, 9)
  })

  it('is used as in the other warehouses, the more of them the surer', () => {
    const [none, one, three, many] = [0, 1, 3, 40].map((count) => pool([], elsewhere(count, USUAL / 2))) as [
      ReturnType<typeof pool>,
      ReturnType<typeof pool>,
      ReturnType<typeof pool>,
      ReturnType<typeof pool>,
    ]
    expect(one.level).toBeLessThan(none.level)
    expect(three.level).toBeLessThan(one.level)
    expect(three.level).toBeGreaterThan(USUAL / 2)
    // With many alike the normal means of textbooks leave hardly anything to what is stated.
    expect(many.level / (USUAL / 2)).toBeCloseTo(1, 1)
    expect(one.logSd).toBeLessThan(none.logSd)
    expect(many.logSd).toBeLessThan(three.logSd)
    // Machines of one type still differ from each other.
    expect(many.logSd).toBeGreaterThan(0.3)
  })

  it('believes thirty machines of a warehouse more than one', () => {
    const thirty = pool([], elsewhere(1, USUAL / 2))
    const single = pool([], elsewhere(1, USUAL / 2, { machines: 1, logSd: null }))
    expect(thirty.level).toBeLessThan(single.level)
    expect(single.level).toBeLessThan(USUAL)
  })
})

it('twenty counted machines of its own say more than all other warehouses together', () => {
  const own = Array.from({ length: 20 }, (_, index) => counted(500 * Math.exp((index - 9.5) / 20)))
  const [alone, beside] = [pool(own, []), pool(own, elsewhere(10, 2000))]
  expect(beside.level / alone.level).toBeGreaterThan(0.98)
  expect(beside.level / alone.level).toBeLessThan(1.15)
})

it('a type that is not known here says nothing', () => {
  expect(pool([], elsewhere(3, 100, { machineTypeId: 'other' }))).toEqual(pool([], []))
})
