import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { placeLabels, ticksOf } from './span-scale.js'

const said = (from: string, to: string, zone: string) => ticksOf(Date.parse(from), Date.parse(to), zone).map(({ words }) => words)

describe('the scale of a band', () => {
  it('has round hours of the zone, and the day at midnight', () => {
    expect(said('2026-05-04T18:10:00Z', '2026-05-05T01:00:00Z', 'Europe/Berlin')).toEqual([
      '21:00',
      '22:00',
      '23:00',
      '5 May',
      '01:00',
      '02:00',
      '03:00',
    ])
    expect(said('2026-05-04T08:00:00Z', '2026-05-04T08:20:00Z', 'UTC')).toEqual(['08:00', '08:05', '08:10', '08:15', '08:20'])
    expect(said('2026-05-01T08:00:00Z', '2026-05-20T08:00:00Z', 'UTC')).toEqual(['7 May', '14 May'])
  })

  it('goes by the clocks over the hours in which they are set', () => {
    expect(said('2026-10-24T23:30:00Z', '2026-10-25T05:30:00Z', 'Europe/Berlin')).toEqual(['02:00', '03:00', '04:00', '05:00', '06:00'])
  })
})

describe('labels along a band', () => {
  it('of one moment are one', () => {
    expect(
      placeLabels(
        [
          { x: 10, words: 'failed' },
          { x: 11, words: 'noticed' },
        ],
        700,
        9,
      ),
    ).toMatchObject([{ x: 10, left: 10, row: 0, words: 'failed, noticed' }])
  })

  it('at the end of the band stand before their lines, the leftmost lowest; elsewhere behind them, the rightmost lowest', () => {
    const words = ['failed 08:00', 'told 08:10', 'repaired 09:40', 'back in use 09:50']
    const placed = placeLabels(
      words.map((one, index) => ({ x: [0, 20, 730, 750][index] ?? 0, words: one })),
      760,
      9,
    )
    expect(words.map((one) => placed.find((label) => label.words === one))).toMatchObject([
      { ends: false, row: 1 },
      { ends: false, row: 0 },
      { ends: true, row: 0 },
      { ends: true, row: 1 },
    ])
  })

  it('lie within the picture, and no two of one row over each other', () => {
    const moment = fc.record({ x: fc.integer({ min: 0, max: 700 }), words: fc.string({ minLength: 5, maxLength: 24 }) })
    fc.assert(
      fc.property(fc.array(moment, { minLength: 1, maxLength: 7 }), (given) => {
        const placed = placeLabels(
          given.toSorted((a, b) => a.x - b.x),
          760,
          9,
        )
        for (const one of placed) {
          expect(one.left).toBeGreaterThanOrEqual(0)
          for (const other of placed)
            if (other !== one && other.row === one.row)
              expect(other.left >= one.left + one.words.length * 9 || one.left >= other.left + other.words.length * 9).toBe(true)
        }
      }),
      { seed: 3, numRuns: 300 },
    )
  })
})
