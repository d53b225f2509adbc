/** Held against values computed with mpmath 1.3.0 at 50 digits, against tables in print and against jStat. */
import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import jstat from 'jstat'
import { betaCdf, betaQuantile } from './beta.js'
import { chiSquareCdf, chiSquareQuantile, chiSquareUpper, chiSquareUpperQuantile } from './chi-square.js'
import { InvalidInput } from './errors.js'
import { gammaLower, gammaQuantile, gammaUpper, gammaUpperQuantile, logGamma, scaledUpperGamma } from './gamma.js'
import { normalCdf, normalQuantile } from './normal.js'
import { studentCdf, studentQuantile } from './student.js'

const apart = (value: number, wanted: number): number => Math.abs(value - wanted) / Math.abs(wanted)

/** shape, x, P(shape, x), Q(shape, x) */
const GAMMA: [number, number, number, number][] = [
  [0.001, 1e-8, 0.9823139793538469, 0.017686020646153065],
  [0.001, 0.6309573444801932, 0.9995725175285493, 0.00042748247145078664],
  [0.01, 1e-8, 0.8365102546852333, 0.16348974531476665],
  [0.01, 0.6309573444801932, 0.9956989528798468, 0.004301047120153221],
  [0.1, 1e-8, 0.16659398838160216, 0.8334060116183979],
  [0.1, 0.6309573444801932, 0.9545547124389271, 0.04544528756107289],
  [0.3, 1e-8, 0.0044358793136453295, 0.9955641206863547],
  [0.3, 0.6309573444801932, 0.8510679094487428, 0.14893209055125717],
  [0.5, 1e-8, 0.00011283791633342487, 0.9998871620836666],
  [0.5, 0.6309573444801932, 0.7387110229543415, 0.26128897704565845],
  [0.9, 1e-8, 6.560405044127262e-8, 0.9999999343959496],
  [0.9, 0.6309573444801932, 0.5181977228128679, 0.4818022771871321],
  [1, 0.00033546262790251185, 0.0003354063666065155, 0.9996645936333934],
  [1, 0.8187307530779818, 0.5590089740570173, 0.4409910259429827],
  [1, 54.598150033144236, 1, 1.9423376049564073e-24],
  [1.5, 0.6629660658610109, 0.2770153606267727, 0.7229846393732273],
  [1.5, 7.678761491009307, 0.9984647389537794, 0.0015352610462206423],
  [2.5, 0.37490753219658746, 0.019876730265349415, 0.9801232697346506],
  [2.5, 3.429856754917299, 0.7687155839096257, 0.23128441609037434],
  [5, 0.13969820642467973, 3.947291294407241e-7, 0.9999996052708705],
  [5, 4.572203218036085, 0.4815439986151706, 0.5184560013848294],
  [5, 29.912973853631456, 0.9999999960902245, 3.909775466373177e-9],
  [10, 3.87250581508453, 0.006575212218622408, 0.9934247877813775],
  [10, 11.712995782321958, 0.7316354103162265, 0.2683645896837735],
  [30, 6.962954594573375, 8.82185736127284e-11, 0.9999999999117815],
  [30, 28.924313658833547, 0.4452384127872671, 0.5547615872127329],
  [30, 62.27089396188577, 0.9999979776804523, 2.0223195477613072e-6],
]

/** x, ln Γ(x) */
const LOG_GAMMA: [number, number][] = [
  [1e-10, 23.025850929882736],
  [0.001, 6.907178885383853],
  [0.1, 2.252712651734206],
  [0.5, 0.5723649429247001],
  [0.999, 0.0005780385328913802],
  [1.001, -0.0005763935982833062],
  [1.5, -0.12078223763524522],
  [1.9999, -4.227520877215346e-5],
  [2.001, 0.000423106734800117],
  [2.5, 0.2846828704729192],
  [5.5, 3.9578139676187165],
  [10, 12.801827480081469],
  [100.25, 360.28455963776423],
  [100000, 1051287.7089736569],
  [10000000000, 220258509288.81058],
]

/** z, Φ(z) */
const NORMAL: [number, number][] = [
  [-37, 5.725571222524577e-300],
  [-30, 4.906713927148187e-198],
  [-20, 2.7536241186062337e-89],
  [-10, 7.619853024160525e-24],
  [-8, 6.220960574271784e-16],
  [-6, 9.86587645037698e-10],
  [-5, 2.866515718791939e-7],
  [-4, 3.1671241833119924e-5],
  [-3, 0.0013498980316300946],
  [-2, 0.02275013194817921],
  [-1.5, 0.06680720126885807],
  [-1, 0.15865525393145705],
  [-0.5, 0.3085375387259869],
  [-0.1, 0.460172162722971],
  [-1e-5, 0.49999601057719606],
  [0, 0.5],
  [1e-5, 0.500003989422804],
  [0.1, 0.539827837277029],
  [0.5, 0.6914624612740131],
  [1, 0.8413447460685429],
  [2, 0.9772498680518208],
  [3, 0.9986501019683699],
  [5, 0.9999997133484281],
  [8, 0.9999999999999993],
]

/** a, b, share, I(share; a, b): scipy 1.17 (Boost), itself within 1e-13 */
const BETA: [number, number, number, number][] = [
  [0.3, 0.3, 1e-8, 0.002208164726821589],
  [0.3, 0.5, 0.9, 0.8577174876804567],
  [0.3, 2.5, 0.3, 0.8820091311838381],
  [0.3, 40, 0.1, 0.9983501390814151],
  [0.5, 0.5, 0.001, 0.020135041633377492],
  [0.5, 1, 0.99, 0.99498743710662],
  [0.5, 7, 0.5, 0.997810791280376],
  [1, 0.3, 0.5, 0.18774760364376447],
  [1, 1, 0.01, 0.01],
  [1, 2.5, 0.999, 0.9999999683772234],
  [1, 1000, 0.01, 0.9999568287525893],
  [2, 0.5, 0.7, 0.2605745473680253],
  [2, 2.5, 0.1, 0.039458160723854795],
  [2, 40, 0.001, 0.0007989808347557147],
  [5.5, 0.3, 0.999, 0.7707780478500822],
  [5.5, 1, 0.7, 0.14061745065958203],
  [5.5, 7, 0.1, 0.0012321793683561539],
  [30, 0.3, 0.01, 3.101337989168289e-62],
  [30, 0.5, 0.999, 0.8072373061595369],
  [30, 2.5, 0.7, 0.0005435460782246994],
  [30, 40, 0.3, 0.012126160623329755],
  [300, 0.5, 0.999, 0.438654268870091],
  [300, 7, 0.9, 2.4602339209284397e-8],
]

/** degrees of freedom, t, P(T ≤ t): the same */
const STUDENT: [number, number, number][] = [
  [1, -1000000, 3.1830988618368455e-7],
  [1, -5, 0.0628329581890012],
  [2, -1000, 4.9999925000125e-7],
  [2, -3, 0.04773298313335456],
  [3, -100, 1.1022609615924553e-6],
  [3, -2, 0.06966298427942152],
  [4, -30, 3.6764280488306595e-6],
  [4, -1, 0.18695048315002943],
  [5, -10, 8.547378787148181e-5],
  [7, -1000000, 1.3205206763259189e-40],
  [7, -5, 0.0007826389765864124],
  [10, -1000, 1.2304123550866357e-26],
  [10, -3, 0.006671827511284785],
  [30, -100, 9.923058983635155e-40],
  [30, -2, 0.027312522481491526],
  [100, -10, 4.950844492297065e-17],
  [1000, -30, 7.687343722021547e-142],
  [1000, -1, 0.15877620904234027],
  [100000, -2, 0.022751481728793675],
  [0.5, -30, 0.058546841490053445],
  [0.5, -1, 0.30112161084132205],
]

describe('against mpmath at 50 digits, 1e-10 relative in both tails', () => {
  it.each(GAMMA)('incomplete gamma function of shape %p at %p', (shape, x, lower, upper) => {
    expect(apart(gammaLower(shape, x), lower)).toBeLessThan(1e-12)
    expect(apart(gammaUpper(shape, x), upper)).toBeLessThan(1e-12)
    if (lower < 0.9) expect(apart(gammaQuantile(lower, shape), x)).toBeLessThan(1e-12)
    if (upper < 0.9) expect(apart(gammaUpperQuantile(upper, shape), x)).toBeLessThan(1e-10)
    expect(apart(scaledUpperGamma(shape, x), Math.exp(x + logGamma(shape)) * upper)).toBeLessThan(1e-11)
  })

  it.each(LOG_GAMMA)('ln Γ(%p)', (x, wanted) => expect(apart(logGamma(x), wanted)).toBeLessThan(1e-13))

  it.each(NORMAL)('Φ(%p) and its inverse', (z, probability) => {
    expect(apart(normalCdf(z), probability)).toBeLessThan(1e-12)
    if (z < 0) expect(apart(normalQuantile(probability), z)).toBeLessThan(1e-11)
  })
})

describe('against scipy (Boost), 1e-10 relative', () => {
  it.each(BETA)('beta of %p and %p at %p', (a, b, share, probability) => {
    expect(apart(betaCdf(share, a, b), probability)).toBeLessThan(1e-12)
    if (probability < 0.9) expect(apart(betaQuantile(probability, a, b), share)).toBeLessThan(1e-12)
  })

  it.each(STUDENT)('Student on %p degrees of freedom at %p', (freedom, t, probability) => {
    expect(apart(studentCdf(t, freedom), probability)).toBeLessThan(1e-11)
    expect(apart(studentQuantile(probability, freedom), t)).toBeLessThan(1e-10)
  })
})

describe('Abramowitz & Stegun, Handbook of Mathematical Functions, 1964', () => {
  it('table 26.1: Φ(1) = .841344746068543, Φ(2) = .977249868051821', () => {
    expect(normalCdf(1)).toBeCloseTo(0.841344746068543, 14)
    expect(normalCdf(2)).toBeCloseTo(0.977249868051821, 14)
  })
  it('table 26.10: t 0.975 on 10 degrees of freedom is 2.228, on 1 it is 12.706', () => {
    expect(studentQuantile(0.975, 10)).toBeCloseTo(2.228, 3)
    expect(studentQuantile(0.975, 1)).toBeCloseTo(12.706, 3)
  })
  it('table 26.8: chi-square exceeded by 5 % is 3.84146 on 1 and 18.307 on 10 degrees of freedom', () => {
    expect(chiSquareQuantile(0.95, 1)).toBeCloseTo(3.84146, 5)
    expect(chiSquareUpperQuantile(0.05, 10)).toBeCloseTo(18.307, 3)
  })
  it('6.1.8 and 6.1.9: Γ(1/2) = √π, Γ(3/2) = √π/2', () => {
    expect(logGamma(0.5)).toBeCloseTo(Math.log(Math.sqrt(Math.PI)), 15)
    expect(logGamma(1.5)).toBeCloseTo(Math.log(Math.sqrt(Math.PI) / 2), 15)
  })
})

const shapes = fc.double({ min: 0.05, max: 300, noNaN: true })
const widerShapes = fc.double({ min: 1, max: 300, noNaN: true })
const chances = fc.double({ min: 1e-6, max: 1 - 1e-6, noNaN: true })

describe('properties', () => {
  it('quantile and distribution function undo each other', () => {
    fc.assert(
      fc.property(shapes, chances, (shape, p) => Math.abs(gammaLower(shape, gammaQuantile(p, shape)) - p) < 1e-12 * Math.max(1, 1 / p)),
    )
    fc.assert(fc.property(chances, (p) => apart(normalCdf(normalQuantile(p)), p) < 1e-12))
    fc.assert(fc.property(shapes, chances, (freedom, p) => apart(studentCdf(studentQuantile(p, freedom), freedom), p) < 1e-8))
    fc.assert(fc.property(widerShapes, widerShapes, chances, (a, b, p) => apart(betaCdf(betaQuantile(p, a, b), a, b), p) < 1e-8))
  })

  it('lower and upper chance sum to one; both quantiles rise with what they should', () => {
    fc.assert(fc.property(shapes, shapes, (shape, x) => Math.abs(gammaLower(shape, x) + gammaUpper(shape, x) - 1) < 1e-14))
    fc.assert(fc.property(shapes, chances, (shape, p) => gammaQuantile(p, shape) <= gammaQuantile(Math.min(1 - 1e-9, p + 0.001), shape)))
  })

  it('shape 1 is the exponential', () => {
    fc.assert(fc.property(chances, (p) => apart(gammaQuantile(p, 1), -Math.log1p(-p)) < 1e-13))
    fc.assert(fc.property(fc.double({ min: 1e-3, max: 600, noNaN: true }), (x) => apart(chiSquareUpper(2 * x, 2), Math.exp(-x)) < 1e-13))
  })

  it('the scaled upper gamma function neither underflows nor jumps where its rule changes', () => {
    expect(scaledUpperGamma(1, 65_536)).toBeCloseTo(1, 14)
    fc.assert(
      fc.property(fc.double({ min: 0.05, max: 60, noNaN: true }), (shape) => {
        const [below, above] = [scaledUpperGamma(shape, shape + 1), scaledUpperGamma(shape, (shape + 1) * (1 + 1e-12))]
        return apart(below, above) < 1e-10
      }),
    )
  })

  it('agrees with jStat to its own 1e-7', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.5, max: 40, noNaN: true }),
        fc.double({ min: 0.1, max: 60, noNaN: true }),
        (shape, x) =>
          Math.abs(gammaLower(shape, x) - jstat.gamma.cdf(x, shape, 1)) < 1e-7 &&
          Math.abs(chiSquareCdf(x, 2 * shape) - jstat.chisquare.cdf(x, 2 * shape)) < 1e-7,
      ),
    )
  })
})

describe('bad input is named, never NaN', () => {
  it.each([
    () => logGamma(0),
    () => gammaLower(1, -1),
    () => gammaQuantile(1, 2),
    () => gammaUpperQuantile(0, 2),
    () => normalQuantile(Number.NaN),
    () => studentQuantile(0.5, 0),
    () => betaCdf(1.1, 1, 1),
    () => scaledUpperGamma(Number.NaN, 1),
  ])('%p', (call) => expect(call).toThrow(InvalidInput))
})
