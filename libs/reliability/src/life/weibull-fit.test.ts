import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { InvalidInput } from '../special/errors.js'
import { prepareLife, type LifeData } from './life-data.js'
import { fitWeibull, type WeibullFit } from './weibull-fit.js'
import { scaleProfileLimits, shapeProfileLimits, waldLimits } from './weibull-intervals.js'

const BEARINGS = [
  17.88, 28.92, 33, 41.52, 42.12, 45.6, 48.48, 51.84, 51.96, 54.12, 55.56, 67.8, 68.64, 68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84,
  127.92, 128.04, 173.4,
]
const ABSORBERS = [
  6700, 6950, 7820, 8790, 9120, 9660, 9820, 11310, 11690, 11850, 11880, 12140, 12200, 12870, 13150, 13330, 13470, 14040, 14300, 17520,
  17540, 17890, 18450, 18960, 18980, 19410, 20100, 20100, 20150, 20320, 20900, 22700, 23490, 26510, 27410, 27490, 27890, 28100,
]
const ABSORBER_FAILURES = new Set([6700, 9120, 12200, 13150, 14300, 17520, 20100, 20900, 22700, 26510, 27490])

function fitted(data: LifeData): WeibullFit {
  const fit = fitWeibull(data)
  if (!fit.finite) throw new Error(fit.reason)
  return fit
}

/** The likelihood as its definition has it, with nothing shared with the code under test. */
function plainLogLikelihood({ time, failed, count, entry }: LifeData, shape: number, scale: number): number {
  let sum = 0
  for (let row = 0; row < time.length; row++) {
    const t = time[row] as number
    const hazard = (t / scale) ** shape - ((entry?.[row] ?? 0) / scale) ** shape
    const event = failed[row] ? Math.log(shape / scale) + (shape - 1) * Math.log(t / scale) : 0
    sum += (count?.[row] ?? 1) * (event - hazard)
  }
  return sum
}

describe('published fits', () => {
  it('Lieblein & Zelen 1956, J. Res. NBS 57: 23 ball bearings, shape 2.10, scale 81.9 (digits: R survreg 3.5-3)', () => {
    const fit = fitted({ time: BEARINGS, failed: BEARINGS.map(() => 1) })
    expect(fit.shape / 2.102058875).toBeCloseTo(1, 9)
    expect(fit.scale / 81.87833405).toBeCloseTo(1, 9)
    expect(fit.logLikelihood).toBeCloseTo(-113.6912909, 7)
    expect(fit.shape * Math.sqrt(fit.logCovariance.shape)).toBeCloseTo(0.328687013, 8)
    expect(fit.scale * Math.sqrt(fit.logCovariance.scale)).toBeCloseTo(8.60044573, 7)
  })

  it('Meeker & Escobar 1998, table C.2: 38 shock absorbers, 11 failures (digits: R survreg)', () => {
    const data = { time: ABSORBERS, failed: ABSORBERS.map((age) => (ABSORBER_FAILURES.has(age) ? 1 : 0)) }
    data.failed[27] = 0 // one of two at 20 100 km was still good
    const fit = fitted(data)
    expect(fit.shape / 3.160470315).toBeCloseTo(1, 9)
    expect(fit.scale / 27718.71813).toBeCloseTo(1, 9)
    const life = prepareLife(data)
    const [low, high] = shapeProfileLimits(life, fit, 0.95) as [number, number]
    expect([low, high].map((value) => Number(value.toPrecision(9)))).toEqual([1.89853217, 4.77139078])
    const [short, long] = scaleProfileLimits(life, fit, 0.95) as [number, number]
    expect([short, long].map((value) => Number(value.toPrecision(9)))).toEqual([23330.0661, 37961.9108])
    expect(waldLimits(fit.shape, Math.sqrt(fit.logCovariance.shape), 0.95)[0]).toBeCloseTo(2.008733073, 7)
  })

  it('Gehan 1965, Biometrika 52, 6-MP arm: the same with equal rows gathered', () => {
    const time = [6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 34, 35]
    const failed = [1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0]
    const count = [3, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 2, 1, 1]
    const fit = fitted({ time, failed, count })
    expect(fit.parts).toBe(21)
    expect(fit.shape / 1.353734524).toBeCloseTo(1, 9)
    expect(fit.scale / 33.76515097).toBeCloseTo(1, 9)
    const rows = time.flatMap((age, row) => Array.from({ length: count[row] as number }, () => [age, failed[row] as number] as const))
    expect(fitted({ time: rows.map(([age]) => age), failed: rows.map(([, mark]) => mark) }).shape).toBeCloseTo(fit.shape, 12)
  })

  it.each([
    [
      'no counts',
      { time: [10, 12, 15, 20, 25, 30], failed: [1, 1, 0, 1, 0, 0], entry: [0, 8, 10, 0, 20, 5] },
      1.5101927417673906,
      24.122912751666874,
      -12.213908753627447,
    ],
    [
      'counts',
      {
        time: [3, 4, 5, 6, 7, 8, 9],
        failed: [0, 0, 1, 0, 0, 1, 0],
        entry: [2, 3, 4, 5, 0, 0, 0],
        count: [2, 3, 1, 4, 1, 1, 7],
      },
      3.2813888925397725,
      14.154538672623453,
      -8.599290809337697,
    ],
  ])('late entries, %s, against the score solved in 40-digit arithmetic', (_name, data, shape, scale, logLikelihood) => {
    const fit = fitted(data)
    expect(fit.shape / shape).toBeCloseTo(1, 11)
    expect(fit.scale / scale).toBeCloseTo(1, 11)
    expect(fit.logLikelihood).toBeCloseTo(logLikelihood, 10)
  })
})

describe('where there is no finite, unique maximum, the reason is said', () => {
  it.each([
    ['no-failures', [1200, 1500, 2000], [0, 0, 0]],
    ['failures-only-at-oldest-age', [800, 1200, 2400], [0, 0, 1]],
    ['failures-only-at-oldest-age', [1500], [1]],
    ['failures-only-at-oldest-age', [1500, 1500, 1500], [1, 1, 1]],
  ])('%s', (reason, time, failed) => expect(fitWeibull({ time, failed })).toMatchObject({ finite: false, reason }))

  it('parts that all entered late and died soon after', () => {
    const data = { time: [101, 110, 150, 400], failed: [1, 1, 1, 1], entry: [100, 100, 100, 100] }
    const result = fitWeibull(data)
    expect(result).toMatchObject({ finite: false, reason: 'shape-tends-to-zero' })
    // the profile really rises towards shape 0
    const profile = (shape: number) => {
      const scale = (data.time.reduce((sum, age) => sum + age ** shape - 100 ** shape, 0) / 4) ** (1 / shape)
      return plainLogLikelihood(data, shape, scale)
    }
    expect(profile(0.02)).toBeGreaterThan(profile(0.05))
    expect(profile(0.05)).toBeGreaterThan(profile(0.5))
  })
})

const ages = fc.array(
  fc.record({
    time: fc.double({ min: 0.5, max: 5000, noNaN: true }),
    failed: fc.constantFrom(0, 1),
    entryShare: fc.double({ min: 0, max: 0.9, noNaN: true }),
  }),
  { minLength: 4, maxLength: 60 },
)
const toData = (rows: { time: number; failed: number; entryShare: number }[], truncated: boolean): LifeData => ({
  time: rows.map(({ time }) => time),
  failed: rows.map(({ failed }) => failed),
  // every other part from new, so that a maximum exists
  ...(truncated ? { entry: rows.map(({ time, entryShare }, row) => (row % 2 ? time * entryShare : 0)) } : {}),
})

describe('properties', () => {
  it.each([false, true])('no neighbour is likelier by the plain definition (entered late: %p)', (truncated) => {
    fc.assert(
      fc.property(ages, (rows) => {
        const data = toData(rows, truncated)
        const fit = fitWeibull(data)
        // beyond this shape the plain definition itself has lost its digits
        if (!fit.finite || fit.shape > 1e5) return
        expect(fit.logLikelihood).toBeCloseTo(plainLogLikelihood(data, fit.shape, fit.scale), 6)
        const [dShape, dScale] = [1e-3 * Math.sqrt(fit.logCovariance.shape), 1e-3 * Math.sqrt(fit.logCovariance.scale)]
        for (const [a, b] of [
          [1, 0],
          [-1, 0],
          [0, 1],
          [0, -1],
          [1, 1],
          [-1, -1],
        ] as const)
          expect(plainLogLikelihood(data, fit.shape * Math.exp(a * dShape), fit.scale * Math.exp(b * dScale))).toBeLessThanOrEqual(
            fit.logLikelihood + 1e-9 * Math.abs(fit.logLikelihood),
          )
      }),
    )
  })

  it('a maximum exists exactly when some failure is strictly younger than the oldest age', () => {
    fc.assert(
      fc.property(ages, (rows) => {
        const oldest = Math.max(...rows.map(({ time }) => time))
        expect(fitWeibull(toData(rows, false)).finite).toBe(rows.some(({ time, failed }) => failed === 1 && time < oldest))
      }),
    )
  })

  it('another unit scales the scale only; order does not matter; inputs are left as they are', () => {
    fc.assert(
      fc.property(ages, fc.double({ min: 1e-6, max: 1e6, noNaN: true }), (rows, factor) => {
        const data = toData(rows, true)
        const before = structuredClone(data)
        const fit = fitWeibull(data)
        expect(data).toEqual(before)
        if (!fit.finite || fit.shape > 1e5) return
        const scaled = fitted(
          toData(
            rows.map((row) => ({ ...row, time: row.time * factor })),
            true,
          ),
        )
        expect(scaled.shape / fit.shape).toBeCloseTo(1, 9)
        expect(scaled.scale / fit.scale / factor).toBeCloseTo(1, 9)
        const order = (list: ArrayLike<number>) => Array.from(list).reverse()
        const turned = fitted({ time: order(data.time), failed: order(data.failed), entry: order(data.entry ?? []) })
        expect(turned.shape / fit.shape).toBeCloseTo(1, 9)
      }),
    )
  })

  it('entering at 0 is the same as no entry; a wider confidence gives wider limits', () => {
    fc.assert(
      fc.property(ages, (rows) => {
        const data = toData(rows, false)
        const fit = fitWeibull(data)
        if (!fit.finite) return
        expect(fitted({ ...data, entry: rows.map(() => 0) }).shape / fit.shape).toBeCloseTo(1, 11)
        const life = prepareLife(data)
        const [narrow, wide] = [shapeProfileLimits(life, fit, 0.5), shapeProfileLimits(life, fit, 0.99)] as [
          [number, number],
          [number, number],
        ]
        expect(wide[0]).toBeLessThan(narrow[0])
        expect(wide[1]).toBeGreaterThan(narrow[1])
      }),
      { numRuns: 30 },
    )
  })
})

it('two failures of wildly different age (closed form: shape · ln(t₂/t₁)/2 is the root 1.19967864025773 of x tanh x = 1)', () => {
  for (const [time, ratioLog] of [
    [[1e-200, 1e200], 400],
    [[1e-8, 1e8], 16],
  ] as const) {
    const fit = fitWeibull({ time, failed: [1, 1] })
    if (!fit.finite) throw new Error('no fit')
    expect(Math.abs((fit.shape * ratioLog * Math.LN10) / 2 / 1.19967864025773 - 1)).toBeLessThan(1e-12)
  }
})

describe('bad data are refused by list and row', () => {
  it.each([
    ['time[1]', { time: [1, -2], failed: [1, 1] }],
    ['time[0]', { time: [Number.NaN, 2], failed: [1, 1] }],
    ['time[0]', { time: [0, 2], failed: [1, 1] }],
    ['failed', { time: [1, 2], failed: [1] }],
    ['failed[1]', { time: [1, 2], failed: [1, 2] }],
    ['entry[1]', { time: [1, 2], failed: [1, 1], entry: [0, 2] }],
    ['count', { time: [1, 2], failed: [1, 1], count: [1] }],
    ['time', { time: [], failed: [] }],
  ])('%s', (field, data) => {
    expect(() => fitWeibull(data)).toThrow(InvalidInput)
    expect(() => fitWeibull(data)).toThrow(field)
  })
})
