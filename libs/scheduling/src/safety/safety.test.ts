import { describe, expect, it } from '@jest/globals'
import { acknowledgementFor, type CautionFacts, cautionsFor, roundLineCaution } from './cautions.js'
import { functionCheckFor, type StripFacts } from './function-check.js'
import { judgeFunctionCheck } from './judge-function-check.js'

const facts: CautionFacts = { supply: 'cord_and_plug', heater: true, reach: 'inside', usesSolvent: true }
const keys = (over: Partial<CautionFacts>): string[] => cautionsFor({ ...facts, ...over }).map(({ key }) => key)

describe('cautions', () => {
  it('begin with what comes first and name the blade on every sheet of every machine', () => {
    for (const supply of ['cord_and_plug', 'wired_in', 'none'] as const)
      for (const reach of ['outside', 'cover_off', 'inside'] as const)
        for (const heater of [true, false])
          for (const usesSolvent of [true, false]) {
            const found = cautionsFor({ supply, reach, heater, usesSolvent })
            expect(found[0]?.key).toBe('what_comes_first')
            expect(found.map(({ key }) => key)).toContain('blade')
            expect(found.some(({ key }) => key === 'heater')).toBe(heater)
            expect(found.some(({ key }) => key === 'solvent')).toBe(usesSolvent)
            expect(found.some(({ key }) => key === 'move_by_hand')).toBe(reach !== 'outside')
            expect(found.some(({ key }) => key === 'unplug' || key === 'wired_in')).toBe(supply !== 'none')
          }
  })

  it('cord: the plug; wired in: locked, tagged, tested dead; hand-driven: neither, and no water line', () => {
    expect(keys({})).toEqual(expect.arrayContaining(['unplug', 'ask_again', 'water', 'covers_before_power']))
    expect(keys({ supply: 'wired_in' })).toContain('wired_in')
    expect(keys({ supply: 'wired_in' })).not.toContain('unplug')
    const byHand = keys({ supply: 'none', heater: false, usesSolvent: false, reach: 'cover_off' })
    expect(byHand).toEqual(['what_comes_first', 'blade', 'move_by_hand', 'beyond_the_sheet'])
  })

  it('are acknowledged in words that fit the machine: nobody states a plug that is not there', () => {
    const stated = (supply: CautionFacts['supply'], reach: CautionFacts['reach']): string => acknowledgementFor({ supply, reach })
    expect(stated('cord_and_plug', 'cover_off')).toBe('I have read this. The plug is out and with me.')
    expect(stated('wired_in', 'outside')).toBe('I have read this. It is switched off at its isolator.')
    for (const reach of ['cover_off', 'inside'] as const) expect(stated('wired_in', reach)).toMatch(/locked and tagged .* tested it dead/)
    for (const reach of ['outside', 'cover_off', 'inside'] as const) {
      expect(stated('wired_in', reach)).not.toMatch(/plug/)
      expect(stated('none', reach)).toBe('I have read this. The lever is at rest.')
    }
  })

  it("put a plan's own lines after the core ones, and let them take none away", () => {
    const core = cautionsFor(facts)
    const found = cautionsFor({ ...facts, own: ['Mind the step.', core[0]?.text ?? '', 'Mind the step.', ' '] })
    expect(found.slice(0, core.length)).toEqual(core)
    expect(found.slice(core.length)).toEqual([{ key: 'own_1', text: 'Mind the step.', core: false }])
  })

  it('stand on each line of a round', () => {
    expect(roundLineCaution({ supply: 'cord_and_plug', heater: true })).toMatch(/Unplug first.*heater must be cold/)
    expect(roundLineCaution({ supply: 'wired_in', heater: false })).toMatch(/isolator/)
    expect(roundLineCaution({ supply: 'none', heater: false })).not.toMatch(/plug/i)
  })
})

const strips: StripFacts = {
  shortestStripMm: 150,
  longestStripMm: 900,
  lengthKeysMm: [150, 300, 450, 600, 900],
  meanStripMm: 320,
  stripToleranceMm: 3,
  electric: true,
}
const cut = (askedMm: number, measuredMm = askedMm): { askedMm: number; measuredMm: number } => ({ askedMm, measuredMm })

describe('function check', () => {
  it('outside none, cover off one shortest and one longest, inside three of three lengths and each other key once', () => {
    expect(functionCheckFor('outside', strips).kind).toBe('none')
    expect(functionCheckFor('cover_off', strips).asks.map(({ askedMm, times }) => [askedMm, times])).toEqual([
      [150, 1],
      [900, 1],
    ])
    expect(functionCheckFor('inside', strips).asks.map(({ askedMm, times }) => [askedMm, times])).toEqual([
      [150, 3],
      [300, 3],
      [900, 3],
      [450, 1],
      [600, 1],
    ])
  })

  it('is complete with all strips, covers, cord and the wet strip, and says what is missing before', () => {
    const check = functionCheckFor('inside', strips)
    const all = check.asks.flatMap(({ askedMm, times }) => Array.from({ length: times }, () => cut(askedMm, askedMm + 2)))
    const result = { strips: all, coversOn: true, cordLookedAt: true, wetStripTore: true }
    expect(judgeFunctionCheck(check, result, true)).toEqual({ withinTolerance: true, outOfTolerance: [], missing: [] })
    const less = judgeFunctionCheck(check, { ...result, strips: all.slice(1), cordLookedAt: false, wetStripTore: null }, true)
    expect(less.missing).toEqual([
      'The cord or cable was not looked at.',
      '1 more of the shortest length, 150 mm.',
      'No wet strip was pulled off with the paper torn.',
    ])
  })

  it('judges beyond the tolerance, not at it, and judges nothing where the type states none', () => {
    const result = { strips: [cut(150, 153), cut(900, 896.9)], coversOn: true, cordLookedAt: true, wetStripTore: null }
    expect(judgeFunctionCheck(functionCheckFor('cover_off', strips), result, true).outOfTolerance).toEqual([cut(900, 896.9)])
    const untold = functionCheckFor('cover_off', { ...strips, stripToleranceMm: null })
    expect(judgeFunctionCheck(untold, result, true).withinTolerance).toBeNull()
  })

  it('asks each length once where shortest, most used and longest are one', () => {
    const one = { ...strips, shortestStripMm: 200, longestStripMm: 200, lengthKeysMm: [200], meanStripMm: 200 }
    expect(functionCheckFor('inside', one).asks).toEqual([{ askedMm: 200, what: 'shortest', times: 3 }])
  })
})
