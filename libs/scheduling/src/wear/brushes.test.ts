import { describe, expect, it } from '@jest/globals'
import type { MachineTypeFacts } from '../model.js'
import { fitWear, refuseLonger } from './brushes.js'
import { poolWear, rateBefore, SET_LOG_SD, statedRate } from './rates.js'

const facts = { brushNewMm: 16, brushPlanLimitMm: 9.5, brushNeverBelowMm: 6.4, stripsFromNewToPlanLimit: 1_000_000 } as MachineTypeFacts
const fleet = { logMean: Math.log(6.5e-6), logSd: 0.35 }
const length = (lengthMm: number, usedStrips: number) => ({ on: 0, lengthMm, usedStrips, stripsTotal: usedStrips })
const rateOf = (lengths: ReturnType<typeof length>[], used: number): number => {
  const posterior = fitWear({ lengths }, used, facts, fleet)
  if (!posterior) throw new Error('no posterior')
  return posterior.rates.reduce((sum, rate, index) => sum + rate * (posterior.weights[index] as number), 0)
}

describe('a measurement longer than the last', () => {
  it('is left out, with its index told', () => {
    expect(refuseLonger([14, 13, 13.9, 12].map((lengthMm) => ({ lengthMm })))).toEqual({ kept: [0, 1, 3], refused: [2] })
  })

  it('and the next that agrees with it show that the one before was misread', () => {
    // 11.9 stood a millimetre low: 12.8 and 12.5 agree with each other and with 13.2.
    expect(refuseLonger([13.2, 11.9, 12.8, 12.5].map((lengthMm) => ({ lengthMm })))).toEqual({ kept: [0, 2, 3], refused: [1] })
  })

  it('by far more than a slip of the eye looks like a new set, and stays refused', () => {
    expect(refuseLonger([13.2, 10, 16, 15.8].map((lengthMm) => ({ lengthMm })))).toEqual({ kept: [0, 1], refused: [2, 3] })
  })
})

describe('the rate of a set', () => {
  it('is hardly moved by one measurement that was read a millimetre too low', () => {
    const straight = [length(14.7, 200_000), length(13.4, 400_000), length(12.1, 600_000), length(10.8, 800_000)]
    const slipped = straight.map((one, index) => (index === 1 ? { ...one, lengthMm: one.lengthMm - 1 } : one))
    expect(Math.abs(rateOf(slipped, 800_000) / rateOf(straight, 800_000) - 1)).toBeLessThan(0.03)
  })

  it('of the fleet is the stated one without sets, and close to theirs with many that agree', () => {
    expect(Math.exp(poolWear([], facts).logMean)).toBeCloseTo(statedRate(facts), 12)
    const fast = Array.from({ length: 30 }, () => [{ lengths: [length(13.4, 200_000), length(10.8, 400_000)] }])
    const { logMean, machineLogSd } = poolWear(fast, facts)
    expect(Math.exp(logMean) / 13e-6).toBeGreaterThan(0.95)
    expect(Math.exp(logMean) / 13e-6).toBeLessThan(1.05)
    expect(machineLogSd).toBeLessThan(0.2)
  })

  it('of a machine is drawn towards its earlier sets, the more of them the closer', () => {
    const stated = poolWear([], facts)
    const fast = { lengths: [length(13.4, 200_000), length(10.8, 400_000)] }
    const [none, one, four] = [0, 1, 4].map((count) =>
      rateBefore(
        stated,
        Array.from({ length: count }, () => fast),
        facts,
      ),
    )
    expect(none).toEqual({ logMean: stated.logMean, logSd: Math.hypot(stated.machineLogSd, SET_LOG_SD) })
    const away = [none, one, four].map((rate) => Math.log(13e-6) - rate!.logMean)
    expect(away[1]! / away[0]!).toBeLessThan(0.35)
    expect(away[2]!).toBeLessThan(away[1]!)
    expect(one!.logSd).toBeLessThan(none!.logSd)
    expect(four!.logSd).toBeLessThan(one!.logSd)
    // A next set still lies about its machine's level.
    expect(four!.logSd).toBeGreaterThan(SET_LOG_SD)
  })

  it('of a slow set with too little use to tell is not taken for a fast one', () => {
    const early = Array.from({ length: 10 }, (_, index) => [{ lengths: [length(15.3 + 0.05 * index, 60_000)] }])
    expect(poolWear(early, facts).machines).toBe(0)
  })
})
