import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { InvalidInput } from '../special/errors.js'
import { counterUsage } from './counter.js'

describe('worked by hand', () => {
  it('a five-digit counter rolls over', () => {
    const found = counterUsage({ day: [0, 7, 14, 21, 28], reading: [98500, 99180, 99870, 560, 1245], modulus: 100000 })
    expect(found.cumulative).toEqual([98500, 99180, 99870, 100560, 101245])
    expect(found).toMatchObject({ total: 2745, endpointRate: 2745 / 28 })
    expect(found.fittedRate).toBeCloseTo(98.14285714, 8)
    expect(found.fittedRateStandardError).toBeCloseTo(0.1428571429, 9)
  })

  it('a counter swapped on day 5 adds nothing by itself', () => {
    const found = counterUsage({ day: [0, 5, 5, 10], reading: [1000, 1500, 40, 640], segment: [1, 1, 2, 2] })
    expect(found).toMatchObject({ cumulative: [1000, 1500, 1500, 2100], total: 1100, endpointRate: 110 })
  })

  it('one reading has no rate', () => {
    expect(counterUsage({ day: [3], reading: [10] })).toEqual({
      cumulative: [10],
      total: 0,
      endpointRate: null,
      fittedRate: null,
      fittedRateStandardError: null,
    })
  })
})

describe('properties', () => {
  it('rolling over loses nothing', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 0, max: 999 }), { minLength: 1, maxLength: 40 }),
        fc.integer({ min: 0, max: 999 }),
        (steps, start) => {
          let true_ = start
          const totals = [start, ...steps.map((step) => (true_ += step))]
          const found = counterUsage({ day: totals.map((_, index) => index), reading: totals.map((total) => total % 1000), modulus: 1000 })
          expect(found.cumulative).toEqual(totals)
        },
      ),
    )
  })
})

describe('bad readings are named', () => {
  it.each([
    ['reading[1]', { day: [0, 1], reading: [10, 9] }],
    ['reading[1]', { day: [0, 1], reading: [10, 1000], modulus: 1000 }],
    ['day[1]', { day: [1, 0], reading: [10, 11] }],
    ['segment', { day: [0, 1], reading: [10, 11], segment: [1] }],
    ['reading[0]', { day: [0], reading: [-1] }],
  ])('%s', (field, readings) => {
    expect(() => counterUsage(readings)).toThrow(InvalidInput)
    expect(() => counterUsage(readings)).toThrow(field)
  })
})
