/** Several repairable machines of one kind, each watched from its start to an end of its own. */
import { chiSquareUpper, chiSquareUpperQuantile } from '../special/chi-square.js'
import { InvalidInput } from '../special/errors.js'
import { checkWatched } from './check-watched.js'
import { constantLogLikelihood, fitPowerLaw, type PowerLaw, type Watched } from './power-law.js'
import { sum } from './sum.js'
import { chiSquareTrend, type ChiSquareTrend, laplaceTest, type LaplaceTest } from './trend-tests.js'

export interface MeanCumulativeStep {
  time: number
  /** Machines still watched at this time, those that end here included. */
  atRisk: number
  failures: number
  /** Mean number of failures per machine so far. */
  mean: number
}

export interface RepairableFleet {
  failures: number
  powerLaw: (PowerLaw & { logLikelihood: number; likelihoodRatioAgainstConstant: number; likelihoodRatioPValue: number }) | null
  constant: { mtbf: number | null; rateUpper95: number }
  laplacePooled: LaplaceTest | null
  chiSquareTrendPooled: ChiSquareTrend | null
  meanCumulative: MeanCumulativeStep[]
}

/** Nelson's mean cumulative function. Source: Nelson 1988, J. Quality Technology 20:24–35. O(n log n). */
export function meanCumulativeFunction(systems: readonly Watched[]): MeanCumulativeStep[] {
  const times = systems.flatMap(({ failures }) => failures).sort((a, b) => a - b)
  const ends = systems.map(({ end }) => end).sort((a, b) => a - b)
  const steps: MeanCumulativeStep[] = []
  let ended = 0
  let mean = 0
  for (let index = 0; index < times.length;) {
    const time = times[index] as number
    const from = index
    while (times[index] === time) index += 1
    while (ended < ends.length && (ends[ended] as number) < time) ended += 1
    const atRisk = ends.length - ended
    mean += (index - from) / atRisk
    steps.push({ time, atRisk, failures: index - from, mean })
  }
  return steps
}

/**
 * One power law for all machines, pooled tests of trend, and the mean cumulative function.
 * @param systems ages at failure, a list a machine, > 0 and ≤ its end   @param ends as many, in the same order
 * @throws InvalidInput for lists of unequal length or ages outside (0, end]
 */
export function repairableFleet(systems: readonly (readonly number[])[], ends: readonly number[]): RepairableFleet {
  if (systems.length === 0) throw new InvalidInput('systems', 'must hold at least one machine')
  if (systems.length !== ends.length)
    throw new InvalidInput('ends', `must be as many as systems; there are ${ends.length} for ${systems.length}`)
  const watched = systems.map((failures, index) => checkWatched(failures, ends[index] as number, `systems[${index}]`, `ends[${index}]`))
  const failures = sum(systems.map((each) => each.length))
  const time = sum(ends)
  const law = fitPowerLaw(watched)
  const gain = law && Math.max(0, 2 * (law.logLikelihood - constantLogLikelihood(failures, time)))
  return {
    failures,
    powerLaw:
      law && gain !== null ? { ...law, likelihoodRatioAgainstConstant: gain, likelihoodRatioPValue: chiSquareUpper(gain, 1) } : null,
    constant: { mtbf: failures === 0 ? null : time / failures, rateUpper95: chiSquareUpperQuantile(0.05, 2 * failures + 2) / 2 / time },
    laplacePooled: laplaceTest(watched),
    chiSquareTrendPooled: chiSquareTrend(watched),
    meanCumulative: meanCumulativeFunction(watched),
  }
}
