import { describe, expect, it } from '@jest/globals'
import { FALSE_ALARMS, saysWhoStandsOut, standOut, type Watched } from './stands-out.js'

/** Marsaglia's xorshift, so that every run plays the same fleets. */
function seeded(seed: number): () => number {
  let state = seed
  return () => {
    state ^= state << 13
    state ^= state >>> 17
    state ^= state << 5
    return (state >>> 0) / 2 ** 32
  }
}
/** Knuth, The Art of Computer Programming 2, 3.4.1: events of a Poisson process with this mean. */
function poisson(mean: number, random: () => number): number {
  const limit = Math.exp(-mean)
  let count = 0
  for (let product = random(); product > limit; product *= random()) count += 1
  return count
}

describe('a fleet of pure chance', () => {
  it.each([
    [8, 1],
    [40, 3],
    [120, 0.5],
  ])('of %i machines with %f stoppages each on average has one named in at most 5 % of its reviews', (size, mean) => {
    const random = seeded(20_261_126 + size)
    const reviews = 1000
    let named = 0
    for (let review = 0; review < reviews; review++) {
      // Some were in service for a part of the period only.
      const machines = Array.from({ length: size }, (): Watched => {
        const share = 0.2 + 0.8 * random()
        return { unplanned: poisson(mean * share, random), hoursObserved: 8760 * share }
      })
      if (standOut(machines).includes(true)) named += 1
    }
    // Two standard errors of 5 % in 1000 are 1.4 %.
    expect(named / reviews).toBeLessThanOrEqual(FALSE_ALARMS + 2 * Math.sqrt((FALSE_ALARMS * (1 - FALSE_ALARMS)) / reviews))
  })
})

describe('a machine that is worse', () => {
  it('is named, and it alone', () => {
    const fleet = Array.from({ length: 40 }, (): Watched => ({ unplanned: 2, hoursObserved: 8760 }))
    expect(standOut([...fleet, { unplanned: 14, hoursObserved: 8760 }]).flatMap((named, index) => (named ? [index] : []))).toEqual([40])
  })
  it('is not looked for where there is none to compare with, or it was not in service', () => {
    expect(standOut([{ unplanned: 9, hoursObserved: 100 }])).toEqual([false])
    expect(standOut([])).toEqual([])
    expect(
      standOut([
        { unplanned: 9, hoursObserved: 0 },
        { unplanned: 0, hoursObserved: 10 },
        { unplanned: 0, hoursObserved: 10 },
      ]),
    ).toEqual([false, false, false])
  })
})

describe('its words', () => {
  it('name them, or say that there is none', () => {
    expect(saysWhoStandsOut(['A'], 3)).toBe('A stood still more often than chance explains.')
    expect(saysWhoStandsOut(['A', 'B', 'C'], 9)).toBe('A, B and C stood still more often than chance explains.')
    expect(saysWhoStandsOut([], 3)).toContain('no verdict')
    expect(saysWhoStandsOut([], 0)).toBe('')
  })
})
