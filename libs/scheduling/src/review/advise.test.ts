/** Records made by hand, one for each thing that can be said; the thresholds are our own, common practice, no source. */
import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { adviseOn, type MachineRecord } from './advise.js'

const record = (more: Partial<MachineRecord>): MachineRecord => {
  const unplanned = more.unplanned ?? 8
  return {
    unplanned,
    standsOut: true,
    standsOutPerStrip: true,
    timesUsualWork: 1,
    trend: { statistic: 0.2, pValue: 0.8 },
    parts: Array.from({ length: unplanned }, () => null),
    causes: Array.from({ length: unplanned }, () => 'unknown'),
    costAYear: '€1 200',
    ...more,
  }
}

describe('what a machine’s stoppages speak for', () => {
  it.each([
    [{ unplanned: 0, standsOut: false }, 'keep', 'Keep it.'],
    [{ unplanned: 3, standsOut: false }, 'keep', 'Keep it: so few stoppages say nothing against it.'],
    [{ standsOut: false }, 'keep', 'Keep it: it stops no more often than chance explains.'],
    [
      { causes: ['missed_care', 'dried_glue', 'missed_care', 'dried_glue', 'wear', 'wear', 'unknown', 'unknown'] },
      'care',
      'Keep it, and see to its care: 4 of its 8 unplanned stoppages came from care that was missed.',
    ],
    [
      { standsOutPerStrip: false, timesUsualWork: 2.44 },
      'lighter_station',
      'Move it to a lighter station: it does 2.4 times the usual work of its type, and for the strips that it cuts it stops no more often than others.',
    ],
    [
      { parts: ['feed clutch', 'blade', 'feed clutch', null, 'feed clutch', 'feed clutch', null, 'blade'] },
      'overhaul',
      'Overhaul it: it stops more often than chance explains; 4 of 8 were of the feed clutch.',
    ],
    [
      { trend: { statistic: 2.4, pValue: 0.016 }, parts: Array.from({ length: 8 }, () => 'chain') },
      'overhaul',
      'Overhaul it: it stops more often than chance explains, and ever faster; 8 of 8 were of the chain.',
    ],
    [
      {},
      'overhaul_or_replace',
      'Overhaul or replace it: it stops more often than chance explains; no one part is behind it. They cost about €1 200 a year.',
    ],
    [
      { costAYear: null },
      'overhaul_or_replace',
      'Overhaul or replace it: it stops more often than chance explains; no one part is behind it. No cost of an hour’s stoppage is stated.',
    ],
  ] as const)('%j: %s', (more, advice, sentence) => {
    expect(adviseOn(record(more as Partial<MachineRecord>))).toEqual({ advice, sentence })
  })

  it('moves no machine whose use is not known, or that stops more often for its strips too', () => {
    for (const more of [
      { standsOutPerStrip: null, timesUsualWork: 3 },
      { standsOutPerStrip: true, timesUsualWork: 3 },
      { standsOutPerStrip: false, timesUsualWork: null },
      { standsOutPerStrip: false, timesUsualWork: 1.4 },
    ])
      expect(adviseOn(record(more)).advice).not.toBe('lighter_station')
  })

  it('asks for nothing where chance explains it, whatever else is known', () => {
    const any = fc.record({
      unplanned: fc.integer({ min: 0, max: 40 }),
      standsOutPerStrip: fc.constantFrom(true, false, null),
      timesUsualWork: fc.option(fc.double({ min: 0, max: 9, noNaN: true })),
      statistic: fc.double({ min: -4, max: 4, noNaN: true }),
      part: fc.constantFrom('blade', null),
      cause: fc.constantFrom('missed_care', 'wear'),
    })
    fc.assert(
      fc.property(any, ({ unplanned, statistic, part, cause, ...more }) => {
        const trend = { statistic, pValue: 0.001 }
        const parts = Array.from({ length: unplanned }, () => part)
        const causes = Array.from({ length: unplanned }, () => cause)
        const advised = adviseOn(record({ ...more, unplanned, trend, parts, causes, standsOut: false }))
        expect(advised.advice).toBe('keep')
      }),
    )
  })
})
