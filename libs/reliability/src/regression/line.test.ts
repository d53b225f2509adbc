import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { InvalidInput } from '../special/errors.js'
import { fitLine, invertFittedLine, predictLine } from './line.js'
import { fitThroughOrigin, wearFromKnownLength } from './through-origin.js'

const NORRIS_X = [
  0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777, 558.2, 0.4, 0.6, 775.5, 666.9, 338, 447.5, 11.6, 556, 228.1, 995.8,
  887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999, 779, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
]
const NORRIS_Y = [
  0.1, 338.8, 118.1, 888, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998,
  888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
]
const THERMOSTAT_X = [96, 98, 100, 102, 104, 106, 108, 110]
const THERMOSTAT_Y = [95.71, 98.16, 99.52, 102.09, 103.79, 106.18, 108.14, 110.21]

const apart = (value: number | null, wanted: number): number => Math.abs((value ?? Number.NaN) - wanted) / Math.abs(wanted)

describe('published lines', () => {
  it('NIST StRD Norris, certified: -0.262323073774029, 1.00211681802045, sd 0.884796396144373', () => {
    const line = fitLine(NORRIS_X, NORRIS_Y)
    expect(apart(line.intercept, -0.262323073774029)).toBeLessThan(1e-11)
    expect(apart(line.slope, 1.00211681802045)).toBeLessThan(1e-13)
    expect(apart(line.interceptStandardError, 0.232818234301152)).toBeLessThan(1e-11)
    expect(apart(line.slopeStandardError, 0.429796848199937e-3)).toBeLessThan(1e-11)
    expect(apart(line.residualSd, 0.884796396144373)).toBeLessThan(1e-11)
    expect(apart(line.rSquared, 0.999993745883712)).toBeLessThan(1e-14)
  })

  it('NIST StRD NoInt1, certified: slope 2.07438016528926, sd 3.56753034006338', () => {
    const x = Array.from({ length: 11 }, (_, index) => 60 + index)
    const line = fitThroughOrigin(
      x,
      x.map((value) => value + 70),
    )
    expect(apart(line.slope, 2.07438016528926)).toBeLessThan(1e-13)
    expect(apart(line.slopeStandardError, 0.165289256198347e-1)).toBeLessThan(1e-12)
    expect(apart(line.residualSd, 3.56753034006338)).toBeLessThan(1e-12)
    expect(apart(line.rSquared, 0.999365492298663)).toBeLessThan(1e-13)
  })

  it('Graybill & Iyer 1994, p. 431, thermostat at 104: Fieller 103.404 to 104.589 (R investr)', () => {
    const found = invertFittedLine(fitLine(THERMOSTAT_X, THERMOSTAT_Y), 104, 0.95, false)
    expect(found.x).toBeCloseTo(103.9949156, 6)
    expect(found.fieller).toEqual([expect.closeTo(103.4040511, 6), expect.closeTo(104.5894594, 6)])
    expect(found.waldStandardError).toBeCloseTo(0.2420005718, 8)
  })

  it('the mean line is known better than one new reading', () => {
    const line = fitLine([1, 2, 3, 4], [2, 4.1, 5.9, 8.2])
    const { fit, confidenceInterval, predictionInterval } = predictLine(line, 5, 0.9)
    expect(predictionInterval[0]).toBeLessThan(confidenceInterval[0])
    expect((confidenceInterval[0] + confidenceInterval[1]) / 2).toBeCloseTo(fit, 12)
  })

  it('wear through a known new length of 12.7 mm reaches 5 mm at 157.861 (R)', () => {
    const wear = wearFromKnownLength({
      usage: [5, 20, 33, 47, 64, 81, 97, 112],
      lengthMm: [12.41, 11.66, 11.08, 10.33, 9.62, 8.71, 8.05, 7.22],
      newLengthMm: 12.7,
      limitMm: 5,
      confidence: 0.95,
    })
    expect(wear.usageAtLimit).toBeCloseTo(157.8608186, 6)
    expect(wear.usageAtLimitFieller).toEqual([expect.closeTo(154.3191632, 6), expect.closeTo(161.4683293, 6)])
  })
})

describe('slopes that the data hardly show', () => {
  const line = fitLine([0, 3, 5, 9], [15.9, 16.1, 15.7, 15.8])
  it('leave two rays or the whole line, never a false interval (Fieller 1954)', () => {
    expect(invertFittedLine(line, 6, 0.9, false)).toMatchObject({
      kind: 'two-rays',
      fieller: [expect.closeTo(-152.6756603, 5), expect.closeTo(99.18382375, 6)],
    })
    expect(invertFittedLine(line, 15.8, 0.9, false)).toMatchObject({ kind: 'whole-line', fieller: [null, null] })
  })
  it('a slope of exactly 0 reaches nothing', () => {
    expect(invertFittedLine(fitLine([0, 1, 2], [1, 2, 1]), 5, 0.9, false)).toMatchObject({
      x: null,
      waldStandardError: null,
      kind: 'whole-line',
    })
  })
  it('lengths that do not shrink have no use at the limit; one measurement has a rate without errors', () => {
    const base = { newLengthMm: 12, limitMm: 5, confidence: 0.9 }
    expect(wearFromKnownLength({ ...base, usage: [1, 2], lengthMm: [12.1, 12.2] }).usageAtLimit).toBeNull()
    expect(wearFromKnownLength({ ...base, usage: [10], lengthMm: [11] })).toMatchObject({
      wearPerUsage: 0.1,
      usageAtLimit: 70,
      wearStandardError: null,
      kind: null,
    })
  })
})

const points = fc.array(fc.record({ x: fc.integer({ min: -50, max: 50 }), noise: fc.double({ min: -1, max: 1, noNaN: true }) }), {
  minLength: 3,
  maxLength: 30,
})

describe('properties', () => {
  it('residuals are at right angles to x and sum to 0; shifting y shifts the intercept only', () => {
    fc.assert(
      fc.property(points, fc.double({ min: -5, max: 5, noNaN: true }), (list, slope) => {
        const x = list.map((point) => point.x)
        fc.pre(new Set(x).size > 1)
        const y = list.map((point) => slope * point.x + point.noise)
        const line = fitLine(x, y)
        const left = x.map((value, index) => (y[index] as number) - line.intercept - line.slope * value)
        expect(Math.abs(left.reduce((sum, value) => sum + value, 0))).toBeLessThan(1e-9)
        expect(Math.abs(left.reduce((sum, value, index) => sum + value * (x[index] as number), 0))).toBeLessThan(1e-7)
        expect(
          fitLine(
            x,
            y.map((value) => value + 100),
          ).slope,
        ).toBeCloseTo(line.slope, 9)
      }),
    )
  })

  it('Fieller’s ends are where the test of the level just rejects', () => {
    fc.assert(
      fc.property(points, fc.double({ min: -20, max: 20, noNaN: true }), (list, level) => {
        const x = list.map((point) => point.x)
        fc.pre(new Set(x).size > 1)
        const line = fitLine(
          x,
          list.map((point) => 0.8 * point.x + point.noise),
        )
        const { kind, fieller } = invertFittedLine(line, level, 0.9, true)
        if (kind === 'whole-line') return
        for (const end of fieller as [number, number]) {
          const { confidenceInterval } = predictLine(line, end, 0.9)
          const gap = Math.min(...confidenceInterval.map((limit) => Math.abs(limit - level)))
          expect(gap).toBeLessThan(1e-6 * (1 + Math.abs(end)))
        }
      }),
    )
  })
})

describe('bad input is named', () => {
  it.each([
    ['y', () => fitLine([1, 2, 3], [1, 2])],
    ['x', () => fitLine([1, 2], [1, 2])],
    ['x', () => fitLine([2, 2, 2], [1, 2, 3])],
    ['x[1]', () => fitLine([1, Number.NaN, 3], [1, 2, 3])],
    ['x', () => fitThroughOrigin([0, 0], [1, 2])],
    ['usage[0]', () => wearFromKnownLength({ usage: [-1], lengthMm: [5], newLengthMm: 6, limitMm: 2, confidence: 0.9 })],
    ['limitMm', () => wearFromKnownLength({ usage: [1], lengthMm: [5], newLengthMm: 6, limitMm: 6, confidence: 0.9 })],
  ])('%s', (field, call) => {
    expect(call).toThrow(InvalidInput)
    expect(call).toThrow(field)
  })
})
