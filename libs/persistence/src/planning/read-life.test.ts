import { describe, expect, it } from '@jest/globals'
import { dayNumber } from './days.js'
import { lifeOf, livedRecordOf, partRecordOf, TRADE_RANGES } from './read-life.js'

const today = dayNumber('2026-01-01')
const row = {
  key: 'blade',
  new_on: '2016-01-01',
  registered_on: '2020-01-01',
  removed_on: null,
  reason: null,
  years_of_use: null,
  years_of_use_at_entry: null,
}
/** 3 653 days from 2016 to 2026, 1 461 from 2016 to 2020. */
const [tenYears, fourYears] = [3653 / 365.25, 1461 / 365.25]

describe('records of parts', () => {
  it('in place are good so far, and enter at the age at which they were registered', () => {
    expect(partRecordOf(row, today)).toEqual({
      age: tenYears,
      ageAtRegistration: fourYears,
      failed: false,
      removedBeforeRegistration: false,
    })
  })
  it('end with a worn or broken part only', () => {
    for (const [reason, failed] of [
      ['worn', true],
      ['broken', true],
      ['planned', false],
      ['unknown', false],
      ['moved', false],
    ] as const)
      expect(partRecordOf({ ...row, removed_on: '2025-01-01', reason }, today).failed).toBe(failed)
  })
  it('say which removals were written down before the machine was registered', () => {
    expect(partRecordOf({ ...row, removed_on: '2019-01-01', reason: 'broken' }, today)).toMatchObject({
      removedBeforeRegistration: true,
      failed: true,
    })
    expect(partRecordOf({ ...row, new_on: '2021-01-01' }, today)).toMatchObject({ ageAtRegistration: 0 })
  })
  it('that live in strips have done years of their type’s usual use, as far as these are known', () => {
    const lived = { ...row, years_of_use: 3.5, years_of_use_at_entry: 1.25 }
    expect(livedRecordOf(lived, today)).toMatchObject({ age: 3.5, ageAtRegistration: 1.25 })
    expect(partRecordOf(lived, today)).toMatchObject({ age: tenYears })
    expect(livedRecordOf({ ...lived, years_of_use_at_entry: null }, today)).toMatchObject({ age: tenYears })
    expect(livedRecordOf({ ...lived, new_on: null }, today)).toMatchObject({ age: null })
  })
  it('that failed in their first days say that it was early, not that blades no longer wear out', () => {
    const blades = Array.from({ length: 27 }, () => ({ ...row, new_on: '2020-01-01' }))
    const broken = { ...row, new_on: '2025-06-01', registered_on: '2020-01-01', removed_on: '2025-06-08', reason: 'broken' }
    const life = lifeOf([...blades, broken], TRADE_RANGES.blade!, today)
    const without = lifeOf(blades, TRADE_RANGES.blade!, today)
    expect(life.failures).toBe(1)
    expect(life.shape).toBeGreaterThan(2)
    expect(life.scaleYears).toBeLessThan(without.scaleYears)
  })
  it('do not invent an age', () => {
    expect(partRecordOf({ ...row, new_on: null }, today)).toMatchObject({ age: null, ageAtRegistration: 0 })
  })
})
