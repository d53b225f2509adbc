import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { estimateLife } from './estimate-life.js'
import { groupedMode } from './grouped-mode.js'
import { prepareLife, type LifeData } from './life-data.js'
import { posteriorMode } from './posterior-mode.js'
import { priorFromRange } from './prior.js'

const prior = priorFromRange({ fivePercent: 5, ninetyFivePercent: 20 })
/** Hardly a prior at all. */
const flat = { logShape: { mean: 0, sd: 1e4 }, logScale: { mean: 2, sd: 1e4 } }
/** Shape 1 and nothing else. */
const exponential = { logShape: { mean: 0, sd: 1e-5 }, logScale: { mean: 2, sd: 1e4 } }

/** Written apart from the code under test: sums of the plain formulas, climbed by ever smaller steps in both directions. */
function slowMode({ time, failed, entry }: LifeData, { logShape: u, logScale: v }: typeof prior, earlyUntil: number): [number, number] {
  const height = (a: number, b: number) => {
    const [shape, scale] = [Math.exp(a), Math.exp(b)]
    const still = (age: number) => Math.exp(-((age / scale) ** shape))
    let sum = -0.5 * ((a - u.mean) / u.sd) ** 2 - 0.5 * ((b - v.mean) / v.sd) ** 2
    for (let index = 0; index < time.length; index++) {
      const [age, from] = [time[index]!, entry?.[index] ?? 0]
      const density = (shape / scale) * (age / scale) ** (shape - 1) * still(age)
      const chance = !failed[index] ? still(age) : age < earlyUntil ? still(from) - still(earlyUntil) : density
      sum += Math.log(chance / still(from))
    }
    return sum
  }
  let [a, b] = [u.mean, v.mean]
  for (let step = 0.5; step > 1e-7; step /= 2)
    for (let moved = true; moved;) {
      moved = false
      for (const [x, y] of [
        [step, 0],
        [-step, 0],
        [0, step],
        [0, -step],
        [step, step],
        [-step, -step],
        [step, -step],
        [-step, step],
      ] as const)
        // prettier-ignore
        if (height(a + x, b + y) > height(a, b)) {
          ;[a, b, moved] = [a + x, b + y, true]
        }
    }
  return [a, b]
}

const part = fc
  .tuple(fc.double({ min: 0.05, max: 20, noNaN: true }), fc.boolean(), fc.double({ min: 0, max: 0.95, noNaN: true }))
  .map(([age, failed, share]) => ({ age, failed, entry: share * age }))
const dataOf = (parts: readonly { age: number; failed: boolean; entry: number }[]): LifeData => ({
  time: parts.map(({ age }) => age),
  failed: parts.map(({ failed }) => Number(failed)),
  entry: parts.map(({ entry }) => entry),
})

describe('failures of which only counts that they were early', () => {
  it('in one class below the last age have the share that failed (binomial: scale = −c / ln(1 − r/n) at shape 1)', () => {
    const data = { time: [1, 0.5, 2.5, ...Array<number>(17).fill(5)], failed: [1, 1, 1, ...Array<number>(17).fill(0)] }
    const { logShape, logScale } = groupedMode(data, exponential, 5)
    expect(Math.exp(logShape)).toBeCloseTo(1, 4)
    expect(Math.exp(logScale)).toBeCloseTo(-5 / Math.log(1 - 3 / 20), 3)
  })

  it('none below: the mode is that of the exact ages', () => {
    const data = { time: [6, 9, 12, 14, 15, 15, 8], failed: [1, 1, 1, 1, 0, 0, 0] }
    for (const belief of [prior, flat]) {
      const [grouped, exact] = [groupedMode(data, belief, 5), posteriorMode(prepareLife(data), belief)]
      expect(grouped.logShape).toBeCloseTo(exact.logShape, 8)
      expect(grouped.logScale).toBeCloseTo(exact.logScale, 8)
      for (const [row, column] of [
        [0, 0],
        [0, 1],
        [1, 1],
      ] as const)
        // prettier-ignore
        expect(grouped.covariance[row][column]).toBeCloseTo(exact.covariance[row][column], 7)
    }
  })

  it('any: the mode is where slow steps on the plain formulas end', () => {
    fc.assert(
      fc.property(fc.array(part, { minLength: 1, maxLength: 25 }), fc.constantFrom(1, 5, 8), (parts, earlyUntil) => {
        const data = dataOf(parts)
        const [a, b] = slowMode(data, prior, earlyUntil)
        const { logShape, logScale } = groupedMode(data, prior, earlyUntil)
        expect(Math.abs(logShape - a)).toBeLessThan(2e-5)
        expect(Math.abs(logScale - b)).toBeLessThan(2e-5)
      }),
      { numRuns: 60 },
    )
  })

  it('one that failed in its first week moves the age of one in ten by less than a third; by its exact age, by more than half', () => {
    const good = Array.from({ length: 27 }, (_, index) => ({ age: 1 + (index % 9), ageAtRegistration: 0, failed: false, removedBeforeRegistration: false })) // prettier-ignore
    const broken = { age: 0.02, ageAtRegistration: 0, failed: true, removedBeforeRegistration: false }
    const tenth = ({ shape, scale }: { shape: number; scale: number }) => scale * (-Math.log(0.9)) ** (1 / shape)
    const [without, grouped, exact] = [
      estimateLife(good, prior),
      estimateLife([...good, broken], prior, false, 5),
      estimateLife([...good, broken], prior),
    ]
    expect(tenth(grouped)).toBeGreaterThan(tenth(without) * 0.67)
    expect(tenth(grouped)).toBeLessThan(tenth(without))
    expect(tenth(exact)).toBeLessThan(tenth(without) * 0.5)
  })
})
