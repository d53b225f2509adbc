/** Trend of one repairable machine. */
import { chiSquareUpperQuantile } from '../special/chi-square.js'
import { InvalidInput } from '../special/errors.js'
import { checkWatched } from './check-watched.js'
import { constantLogLikelihood, logSum, type PowerLaw, powerLawOf, shapeLimits, type Watched } from './power-law.js'
import { sum } from './sum.js'
import { chiSquareTrend, type ChiSquareTrend, cramerVonMises, laplaceTest, type LaplaceTest } from './trend-tests.js'

export type Truncation = 'time' | 'failure'

export interface PowerLawFit extends PowerLaw {
  /** null where it takes more failures: two, or three when the last one ended the watch. */
  shapeUnbiased: number | null
  shapeStandardError: number
  shapeExact90: [number, number]
  logLikelihood: number
  intensityAtEnd: number
  instantaneousMtbf: number
  cramerVonMises: number | null
  /** Twice the gain in log-likelihood; about χ² with 1 degree of freedom without a trend. */
  likelihoodRatioAgainstConstant: number
}

export interface RepairableTrend {
  failures: number
  end: number
  /** null without a finite fit. */
  powerLaw: PowerLawFit | null
  constant: { mtbf: number | null; rateUpper95: number }
  laplace: LaplaceTest | null
  chiSquareTrend: ChiSquareTrend | null
}

function fitOne(watched: Watched, inner: Watched, truncation: Truncation): PowerLawFit | null {
  const { failures, end } = watched
  const count = failures.length
  const total = logSum(watched)
  if (count === 0 || total === 0) return null
  const shape = count / total
  const law = powerLawOf(shape, count, end)
  const spare = truncation === 'time' ? count - 1 : count - 2
  const shapeUnbiased = spare > 0 ? spare / total : null
  // ln(rate · shape · end^(shape − 1)) at each failure, written so that nothing overflows.
  const logLikelihood = count * (Math.log((count * shape) / end) - 1) + (shape - 1) * sum(failures.map((time) => Math.log(time / end)))
  const intensityAtEnd = (count * shape) / end
  return {
    ...law,
    shapeUnbiased,
    shapeStandardError: shape / Math.sqrt(count),
    shapeExact90: shapeLimits(shape, count, 2 * inner.failures.length, 0.9),
    logLikelihood,
    intensityAtEnd,
    instantaneousMtbf: 1 / intensityAtEnd,
    cramerVonMises: shapeUnbiased === null ? null : cramerVonMises(inner, shapeUnbiased),
    likelihoodRatioAgainstConstant: 2 * (logLikelihood - constantLogLikelihood(count, end)),
  }
}

/**
 * Power law, constant rate, Laplace and chi-square tests from the ages at failure of one machine.
 * @param failureTimes ages, > 0, in any order; equal ones are allowed
 * @param end end of the watch when it ended at a time; when it ended with a failure, that failure or nothing
 * @throws InvalidInput for ages outside (0, end], a missing end, or no failure where one ended the watch
 */
export function repairableTrend(failureTimes: readonly number[], truncation: Truncation, end?: number): RepairableTrend {
  const last = Math.max(...failureTimes)
  if (truncation === 'failure' && failureTimes.length === 0)
    throw new InvalidInput('failureTimes', 'must hold at least one failure where one ended the watch')
  if (truncation === 'time' && end === undefined) throw new InvalidInput('end', 'must be given where the watch ended at a time')
  if (truncation === 'failure' && end !== undefined && end !== last)
    throw new InvalidInput('end', 'must be the last failure, or left out, where a failure ended the watch')
  const watched = checkWatched(failureTimes, end ?? last, 'failureTimes', 'end')
  const count = watched.failures.length
  // A failure that ends the watch is no chance event of its own.
  const inner = truncation === 'time' ? watched : { failures: watched.failures.slice(0, -1), end: watched.end }
  return {
    failures: count,
    end: watched.end,
    powerLaw: fitOne(watched, inner, truncation),
    constant: {
      mtbf: count === 0 ? null : watched.end / count,
      rateUpper95: chiSquareUpperQuantile(0.05, truncation === 'time' ? 2 * count + 2 : 2 * count) / 2 / watched.end,
    },
    laplace: laplaceTest([inner]),
    chiSquareTrend: chiSquareTrend([inner]),
  }
}
