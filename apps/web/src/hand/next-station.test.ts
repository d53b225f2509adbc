import { describe, expect, it } from '@jest/globals'
import { nextStation } from './next-station.js'

describe('the next station', () => {
  it.each([
    ['B07', 'B08'],
    ['B09', 'B10'],
    ['99', '100'],
    ['Line 2 desk 9', 'Line 2 desk 10'],
    ['By the gate', 'By the gate'],
    ['', ''],
  ])('after %s is %s', (name, next) => expect(nextStation(name)).toBe(next))
})
