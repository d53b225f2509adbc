import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { ageAtLevel, restrictedMean, survivalCurve } from './kaplan-meier.js'

const GEHAN = {
  time: [6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35],
  failed: [1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0],
}

describe('published curves', () => {
  it('Gehan 1965, 6-MP arm: survival .857 .807 .753 .690 .627 .538 .448 and Greenwood errors (R survival)', () => {
    const { rows } = survivalCurve(GEHAN)
    expect(rows.map(({ time, atRisk, failed }) => [time, atRisk, failed])).toEqual([
      [6, 21, 3],
      [7, 17, 1],
      [10, 15, 1],
      [13, 12, 1],
      [16, 11, 1],
      [22, 7, 1],
      [23, 6, 1],
    ])
    expect(rows.map(({ survival }) => Number(survival.toFixed(7)))).toEqual([
      0.8571429, 0.8067227, 0.7529412, 0.6901961, 0.627451, 0.5378151, 0.4481793,
    ])
    expect(rows[6]?.standardError).toBeCloseTo(0.1345914568, 9)
    expect(rows[6]?.logLog95[0]).toBeCloseTo(0.188052006, 9)
    expect(rows[0]?.log95).toEqual([expect.closeTo(0.7198170839, 9), 1])
    expect(rows[6]?.cumulativeHazardVariance).toBeCloseTo(0.07810222144, 10)
  })

  it('Miller (R survival, doaml): median 31, mean to the last 52.645', () => {
    const curve = survivalCurve({ time: [9, 13, 13, 18, 23, 28, 31, 34, 45, 48, 161], failed: [1, 1, 0, 1, 1, 0, 1, 1, 0, 1, 0] })
    expect(ageAtLevel(curve, 0.5, (row) => row.survival)).toBe(31)
    expect(restrictedMean(curve)).toBeCloseTo(52.64545455, 8)
  })
})

describe('the middle of a stretch at exactly one half', () => {
  it('runs to the next failure, or to the oldest age where there is none (R survival)', () => {
    const median = (time: number[], failed: number[]) => ageAtLevel(survivalCurve({ time, failed }), 0.5, (row) => row.survival)
    expect(median([3, 5, 5, 8], [1, 1, 0, 1])).toBe(6.5)
    expect(median([1, 2, 3, 9], [1, 1, 0, 0])).toBe(5.5)
    expect(median([5, 8, 12], [0, 0, 0])).toBeNull()
  })

  it('survival 0 has no errors or limits', () => {
    const last = survivalCurve({ time: [1, 2], failed: [1, 1] }).rows[1]
    expect(last).toMatchObject({ survival: 0, standardError: null, log95: [null, null], plain95: [null, null] })
  })
})

const rows = fc.array(
  fc.record({ time: fc.integer({ min: 1, max: 15 }), failed: fc.constantFrom(0, 1), entry: fc.integer({ min: 0, max: 14 }) }),
  { minLength: 1, maxLength: 40 },
)

describe('properties', () => {
  it('risk sets counted one by one, entered late or not', () => {
    fc.assert(
      fc.property(rows, (list) => {
        const data = {
          time: list.map(({ time }) => time),
          failed: list.map(({ failed }) => failed),
          entry: list.map(({ time, entry }) => Math.min(entry, time - 1)),
        }
        const before = structuredClone(data)
        let survival = 1
        for (const row of survivalCurve(data).rows) {
          const atRisk = list.filter(
            (_, index) => (data.time[index] as number) >= row.time && (data.entry[index] as number) < row.time,
          ).length
          const failed = list.filter((_, index) => data.time[index] === row.time && data.failed[index] === 1).length
          survival *= 1 - failed / atRisk
          expect(row).toMatchObject({ atRisk, failed })
          expect(row.survival).toBeCloseTo(survival, 12)
        }
        expect(data).toEqual(before)
      }),
    )
  })

  it('without censoring it is the share still good, and the mean is the plain mean', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 1, max: 30 }), { minLength: 1, maxLength: 40 }), (time) => {
        const curve = survivalCurve({ time, failed: time.map(() => 1) })
        for (const row of curve.rows) expect(row.survival).toBeCloseTo(time.filter((age) => age > row.time).length / time.length, 12)
        expect(restrictedMean(curve)).toBeCloseTo(time.reduce((sum, age) => sum + age, 0) / time.length, 10)
      }),
    )
  })

  it('counts stand for so many rows', () => {
    expect(survivalCurve({ time: [6, 7], failed: [1, 0], count: [2, 3] }).rows).toEqual(
      survivalCurve({ time: [6, 6, 7, 7, 7], failed: [1, 1, 0, 0, 0] }).rows,
    )
  })
})
