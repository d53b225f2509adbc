import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { convert, unitNames } from './convert.js'

describe('exact by definition (international yard and pound agreement, 1959)', () => {
  it.each([
    [1000, 'ft', 'm', 304.8],
    [2.5, 'in', 'mm', 63.5],
    [2.75, 'in', 'mm', 69.85],
    [375, 'ft', 'm', 114.3],
    [1, 'lb', 'kg', 0.45359237],
    [16, 'oz', 'lb', 1],
    [1, 'week', 'h', 168],
    [30, 'm/min', 'm/s', 0.5],
    [-40, 'F', 'C', -40],
    [20, 'C', 'K', 293.15],
    [212, 'F', 'C', 100],
  ])('%p %s is %p %s', (value, from, to, wanted) =>
    expect(convert(value as number, from as string, to as string)).toBeCloseTo(wanted as number, 12),
  )
})

it('there and back is where one was', () => {
  fc.assert(
    fc.property(
      fc.constantFrom(...unitNames),
      fc.constantFrom(...unitNames),
      fc.double({ min: -1e6, max: 1e6, noNaN: true }),
      (from, to, value) => {
        let there: number
        try {
          there = convert(value, from, to)
        } catch {
          return
        }
        expect(Math.abs(convert(there, to, from) - value)).toBeLessThan(1e-9 * (1 + Math.abs(value)))
      },
    ),
  )
})

it('unknown units, other kinds and no numbers are refused', () => {
  expect(() => convert(1, 'furlong', 'm')).toThrow('from')
  expect(() => convert(1, 'm', 'toString')).toThrow('to')
  expect(() => convert(1, 'm', 'kg')).toThrow('to is a unit of mass, but from is one of length')
  expect(() => convert(Number.NaN, 'm', 'ft')).toThrow('value')
})
