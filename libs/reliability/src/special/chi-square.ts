/** Chi-square: a gamma distribution of shape ν/2 and scale 2. */
import { gammaLower, gammaQuantile, gammaUpper, gammaUpperQuantile } from './gamma.js'

export const chiSquareCdf = (x: number, degreesOfFreedom: number): number => gammaLower(degreesOfFreedom / 2, x / 2)

export const chiSquareUpper = (x: number, degreesOfFreedom: number): number => gammaUpper(degreesOfFreedom / 2, x / 2)

/**
 * x below which chi-square lies with the given chance; the upper half through the exceedance, which keeps its digits.
 * @example chiSquareQuantile(0.95, 1) // 3.841458820694124
 */
export const chiSquareQuantile = (probability: number, degreesOfFreedom: number): number =>
  2 * gammaQuantile(probability, degreesOfFreedom / 2)

/** x that chi-square exceeds with the given chance, accurate for tiny chances. */
export const chiSquareUpperQuantile = (exceedProbability: number, degreesOfFreedom: number): number =>
  2 * gammaUpperQuantile(exceedProbability, degreesOfFreedom / 2)
