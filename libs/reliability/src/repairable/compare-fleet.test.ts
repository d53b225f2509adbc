import { describe, expect, it } from '@jest/globals'
import { compareWithFleet, worseThanChance } from './compare-fleet.js'

/** Numbers in [0, 1) from a seed. Source: mulberry32, T. Ettinger (public domain). */
function seeded(seed: number): () => number {
  let state = seed
  return () => {
    state = (state + 0x6d2b79f5) | 0
    let t = Math.imul(state ^ (state >>> 15), 1 | state)
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296
  }
}

function poisson(mean: number, random: () => number): number {
  let [count, left] = [0, random()]
  while (left > Math.exp(-mean)) {
    left *= random()
    count += 1
  }
  return count
}

describe('machines beside their fleet', () => {
  it('a fleet of pure chance names a machine in at most 5 % of periods', () => {
    const random = seeded(40)
    let alarms = 0
    const periods = 1500
    for (let period = 0; period < periods; period++) {
      const fleet = Array.from({ length: 20 }, (_, index) => {
        const exposure = 300 + 40 * index
        return { failures: poisson(exposure / 250, random), exposure }
      })
      if (worseThanChance(fleet).some(({ worseThanFleet }) => worseThanFleet)) alarms += 1
    }
    // Two standard errors of 5 % in 1500 are 1.1 %.
    expect(alarms / periods).toBeLessThan(0.061)
    expect(alarms).toBeGreaterThan(0)
  })

  it('one bad month does not brand a machine, a year of them does', () => {
    const others = Array.from({ length: 19 }, () => ({ failures: 1, exposure: 200 }))
    expect(compareWithFleet([{ failures: 3, exposure: 200 }, ...others])[0]).toMatchObject({ worseThanFleet: false })
    const year = others.map(() => ({ failures: 12, exposure: 2400 }))
    expect(compareWithFleet([{ failures: 36, exposure: 2400 }, ...year])[0]).toMatchObject({ worseThanFleet: true })
  })

  it('draws each towards the fleet, the little watched most', () => {
    const [short, long, plain] = compareWithFleet([
      { failures: 3, exposure: 100 },
      { failures: 60, exposure: 2000 },
      { failures: 20, exposure: 2000 },
      { failures: 20, exposure: 2000 },
      { failures: 20, exposure: 2000 },
    ])
    expect(short?.ownRate).toBeCloseTo(long?.ownRate ?? 0, 12)
    expect(short?.shrunkRate ?? 1).toBeLessThan(long?.shrunkRate ?? 0)
    expect(plain?.shrunkRate ?? 0).toBeGreaterThan(plain?.ownRate ?? 1)
    for (const one of [short, long, plain])
      expect((one?.low ?? 1) < (one?.shrunkRate ?? 0) && (one?.shrunkRate ?? 1) < (one?.high ?? 0)).toBe(true)
  })

  it('p-values are the binomial tail: 4 or more of 10 on a tenth of the hours, by hand 0.0128', () => {
    const fleet = [
      { failures: 4, exposure: 100 },
      ...Array.from({ length: 9 }, (_, index) => ({ failures: index < 6 ? 1 : 0, exposure: 100 })),
    ]
    expect(compareWithFleet(fleet)[0]?.pValue).toBeCloseTo(0.0127951984, 9)
  })

  it('limits agree with a sum over a fine grid of the spread between machines and of the rate', () => {
    const fleet = [
      { failures: 6, exposure: 400 },
      { failures: 2, exposure: 300 },
      { failures: 5, exposure: 900 },
    ]
    const mean = 13 / 1600
    let [total, moment] = [0, 0]
    const mass = new Map<number, number>()
    for (let spread = 0.01; spread < 1.5; spread += 0.02) {
      const shape = spread ** -2
      // Each machine's likelihood at this spread, by integration over its own rate.
      const [own, ...others] = fleet.map(({ failures, exposure }) => {
        const cells: [number, number][] = []
        for (let rate = mean / 400; rate < mean * 8; rate += mean / 200)
          cells.push([
            rate,
            Math.exp(
              (shape - 1) * Math.log(rate / mean) - (shape * (rate - mean)) / mean + failures * Math.log(rate / mean) - exposure * rate,
            ),
          ])
        const norm = cells.reduce((sum, [rate]) => sum + Math.exp((shape - 1) * Math.log(rate / mean) - (shape * (rate - mean)) / mean), 0)
        return {
          cells: cells.map(([rate, value]): [number, number] => [rate, value / norm]),
          likelihood: cells.reduce((sum, [, value]) => sum + value, 0) / norm,
        }
      })
      const weight = Math.exp(-0.5 * (spread / 0.5) ** 2) * others.reduce((product, { likelihood }) => product * likelihood, 1)
      for (const [rate, value] of own?.cells ?? []) {
        total += weight * value
        moment += weight * value * rate
        mass.set(rate, (mass.get(rate) ?? 0) + weight * value)
      }
    }
    const [found] = compareWithFleet(fleet)
    expect((found?.shrunkRate ?? 0) / (moment / total)).toBeCloseTo(1, 2)
    const below = (limit: number) => [...mass].reduce((sum, [rate, value]) => sum + (rate < limit ? value : 0), 0) / total
    expect(below(found?.low ?? 0)).toBeCloseTo(0.05, 2)
    expect(below(found?.high ?? 0)).toBeCloseTo(0.95, 2)
  })

  it('without any failure names nobody and still has an upper limit', () => {
    const [one] = compareWithFleet([{ failures: 0, exposure: 500 }])
    expect(one).toMatchObject({ ownRate: 0, worseThanFleet: false, pValue: 1 })
    expect(one?.high ?? 0).toBeGreaterThan(0)
    expect(compareWithFleet([])).toEqual([])
    expect(() => compareWithFleet([{ failures: 1, exposure: 0 }])).toThrow('machines[0].exposure')
  })
})
