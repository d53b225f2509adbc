import { describe, expect, it } from '@jest/globals'
import { codeOf, nextStation } from './scanned.js'

describe('what a scan gives', () => {
  it.each([
    ['HTTP://CARE.EXAMPLE/L/0123456789AB', '0123456789AB'],
    ['https://care.example:8443/l/0123456789ab/', '0123456789ab'],
    [' D-017 ', 'D-017'],
    ['L/5', 'L/5'],
  ])('%s means %s', (scanned, code) => expect(codeOf(scanned)).toBe(code))
})

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
