import { describe, expect, it } from '@jest/globals'
import { FACTS, machineToPlan } from '../planning/fixtures-for-tests.js'
import { WORKED_CASES_CALENDAR } from '../planning/plans-for-tests.js'
import { dayOf } from '../time/day.js'
import type { UsageInterval } from '../model.js'
import { levelByWords } from './by-words.js'
import { prepareFleet, sumOver } from './fleet.js'
import { forecastUsage } from './forecast.js'

const today = dayOf('2026-06-01')
const USUAL = 800
const pool = { logMean: Math.log(USUAL), logSd: 0.45, machines: 5 }
const fleet = prepareFleet({ today, calendar: { ...WORKED_CASES_CALENDAR, closures: [], peaks: [] }, types: { type: FACTS }, machines: [] })

/** A month's word, as the ledger makes strips of it; `ago` months back, the newest ending today. */
function tap(share: number, ago = 0): UsageInterval {
  const [from, to] = [today - 30 * (ago + 1) + 1, today - 30 * ago]
  return { from, to, strips: share * USUAL * sumOver(fleet, fleet.expected, from, to), kind: 'tap', relativeError: 0.5 }
}

/** Drawn machine by machine on a fine lattice: which share is felt in its month, and which word that is; one in ten is any word. */
function walked(word: 0 | 1 | 2): number {
  const borders = [Number.NEGATIVE_INFINITY, Math.log(Math.sqrt(0.05 * 0.4)), Math.log(Math.sqrt(0.4)), Number.POSITIVE_INFINITY]
  let [total, moment] = [0, 0]
  for (let z = -5; z <= 5; z += 0.01)
    for (let feeling = -5; feeling <= 5; feeling += 0.01) {
      const log = 0.45 * z
      const felt = log + 0.35 * feeling
      const said = felt >= borders[word]! && felt < borders[word + 1]!
      const mass = Math.exp(-0.5 * (z * z + feeling * feeling)) * ((said ? 0.9 : 0) + 0.1 / 3)
      total += mass
      moment += mass * log
    }
  return moment / total
}

describe('a level by words', () => {
  it.each([
    ['all day', 1, 2],
    ['some hours', 0.4, 1],
  ] as const)('‘%s’ gives the mean of the machines of which it would be said', (_, share, word) => {
    const found = levelByWords(fleet, [tap(share)], today, USUAL, pool)
    expect(Math.abs((found?.logMean ?? Number.NaN) - Math.log(USUAL) - walked(word))).toBeLessThan(0.003)
    expect(found?.logSd).toBeLessThan(pool.logSd)
  })

  it('‘all day’ is said of machines above their type’s usual day too, so the level lies above it', () => {
    expect(levelByWords(fleet, [tap(1), tap(1, 1), tap(1, 2)], today, USUAL, pool)?.logMean).toBeGreaterThan(Math.log(USUAL) + 0.1)
  })

  it('another word among them moves it a little, and an old one hardly', () => {
    const level = (...words: UsageInterval[]) => levelByWords(fleet, words, today, USUAL, pool)!.logMean
    const same = level(tap(1), tap(1, 1), tap(1, 2))
    expect(level(tap(1), tap(0.4, 1), tap(1, 2))).toBeLessThan(same - 0.03)
    expect(Math.abs(level(tap(1), tap(1, 1), tap(1, 2), tap(0.05, 14)) - same)).toBeLessThan(0.02)
  })

  it('one word at odds with what a busy machine says month after month is taken for a slip', () => {
    const busy = { ...pool, logMean: Math.log(2 * USUAL), logSd: 0.3 }
    const level = (...words: UsageInterval[]) => levelByWords(fleet, words, today, USUAL, busy)!.logMean
    const same = level(tap(1), tap(1, 1), tap(1, 2), tap(1, 3))
    // Without slips it would fall by 0.53: the machine's next date two thirds too far off.
    expect(same - level(tap(0.4), tap(1, 1), tap(1, 2), tap(1, 3))).toBeLessThan(0.15)
  })

  it('does not speak where anything else tells', () => {
    const counted = { ...tap(1, 1), kind: 'counter' as const, relativeError: 0 }
    expect(levelByWords(fleet, [tap(1), counted], today, USUAL, pool)).toBeNull()
    expect(levelByWords(fleet, [], today, USUAL, pool)).toBeNull()
  })

  it('holds for the strips that were cut and for those to come alike', () => {
    const machine = machineToPlan({ usage: [tap(1), tap(1, 1)] })
    const { level, usedFactor, sharedSd } = forecastUsage(fleet, machine)
    expect(level / usedFactor).toBeCloseTo(USUAL, 6)
    expect(usedFactor).toBeGreaterThan(1.05)
    expect(sharedSd).toBeGreaterThan(0.2)
  })
})
