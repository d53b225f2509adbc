/**
 * The power-law process: mean number of failures by age t is rate · t^shape; above shape 1 failures come ever faster.
 * Source: Crow 1975, Reliability Analysis for Complex Repairable Systems; Meeker & Escobar 1998, 16.4; MIL-HDBK-189.
 */
import { chiSquareQuantile } from '../special/chi-square.js'
import { findRoot } from '../special/root.js'
import { sum } from './sum.js'

export interface PowerLaw {
  /** Dimensionless, > 0. */
  shape: number
  /** Failures per (unit of time)^shape. */
  rate: number
  /** Age by which one failure is expected, rate^(−1/shape). */
  scale: number
}

export interface Watched {
  /** Ages at failure, ascending, each > 0 and ≤ end. */
  failures: readonly number[]
  end: number
}

/** Σ ln(end / t), the one statistic of a single machine's shape. */
export const logSum = ({ failures, end }: Watched): number => sum(failures.map((time) => -Math.log(time / end)))

export function powerLawOf(shape: number, failures: number, end: number): PowerLaw {
  const rate = failures * end ** -shape
  return { shape, rate, scale: end * failures ** (-1 / shape) }
}

/**
 * Largest likelihood over machines whose watch ended at a time; N / Σ Tᵝ for the rate.
 * @returns null without a finite maximum: no failure, or every failure at the very end of the longest watch
 */
export function fitPowerLaw(systems: readonly Watched[]): (PowerLaw & { logLikelihood: number }) | null {
  const longest = Math.max(...systems.map(({ end }) => end))
  const ends = systems.map(({ end }) => Math.log(end / longest))
  const logs = systems.flatMap(({ failures }) => failures.map((time) => Math.log(time / longest)))
  const logTotal = sum(logs)
  if (logs.length === 0 || logTotal === 0) return null
  const score = (shape: number): number => {
    const powers = ends.map((log) => Math.exp(shape * log))
    return logs.length / shape + logTotal - (logs.length * sum(powers.map((power, index) => power * (ends[index] as number)))) / sum(powers)
  }
  // With one common end the shape is N / Σ ln(T/t); shorter watches only make it smaller or larger within a bound.
  let [low, high] = [logs.length / -logTotal, logs.length / -logTotal]
  while (score(low) < 0) low /= 2
  while (score(high) > 0 && high < 1e12) high *= 2
  const shape = findRoot(score, low, high)
  const exposure = sum(ends.map((log) => Math.exp(shape * log)))
  const relative = logs.length / exposure
  const rate = relative * longest ** -shape
  const logLikelihood = logs.length * (Math.log(relative * shape) - Math.log(longest) - 1) + (shape - 1) * logTotal
  return { shape, rate, scale: longest * relative ** (-1 / shape), logLikelihood }
}

/** Log-likelihood of a constant rate over all machines: N ln(N/T) − N. */
export const constantLogLikelihood = (failures: number, time: number): number =>
  failures === 0 ? 0 : failures * Math.log(failures / time) - failures

/** Exact limits of the shape: shape · χ²(p; d) / 2n. */
export function shapeLimits(shape: number, failures: number, degreesOfFreedom: number, confidence: number): [number, number] {
  const at = (probability: number): number => (shape * chiSquareQuantile(probability, degreesOfFreedom)) / (2 * failures)
  return [at((1 - confidence) / 2), at((1 + confidence) / 2)]
}
