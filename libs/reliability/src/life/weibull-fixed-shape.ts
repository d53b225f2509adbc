/** The scale when the shape is known from elsewhere; gives a lower limit even without a failure. */
import { chiSquareQuantile } from '../special/chi-square.js'
import { requireBetween, requirePositive } from '../special/errors.js'
import { prepareLife, type LifeData } from './life-data.js'
import { powerSums } from './power-sums.js'

export interface FixedShapeScale {
  parts: number
  failures: number
  /** null without a failure. */
  scale: number | null
  /** One-sided: with this confidence the scale is at least the value. */
  scaleLower: { confidence: number; value: number }[]
}

/**
 * scale = (Σ t^shape / r)^(1/shape) over r failures; lower limit (2 Σ t^shape / χ²(confidence, 2r + 2))^(1/shape).
 * t^shape is exponential, so these are its exact limits for a test that ends at a time.
 * Source: Nelson, Weibull Analysis of Reliability Data with Few or No Failures, J. Quality Technology 17, 1985.
 * @example fitScale({ time: [1200, 1500, 2000, 2400, 3000], failed: [0, 0, 0, 0, 0] }, 1, [0.95]).scaleLower[0].value // 3371.462827…
 */
export function fitScale(data: LifeData, shape: number, confidences: readonly number[]): FixedShapeScale {
  requirePositive('shape', shape)
  confidences.forEach((confidence, index) => requireBetween(`confidences[${index}]`, confidence, 0, 1))
  const life = prepareLife(data)
  const { parts, failures, logOldest } = life
  const logSum = Math.log(powerSums(life, shape).s0)
  const scaleFor = (divisor: number) => Math.exp(logOldest + (logSum - Math.log(divisor)) / shape)
  return {
    parts,
    failures,
    scale: failures > 0 ? scaleFor(failures) : null,
    scaleLower: confidences.map((confidence) => ({
      confidence,
      value: scaleFor(chiSquareQuantile(confidence, 2 * failures + 2) / 2),
    })),
  }
}
