/** How many of several independent events happen, each with its own chance. */
import { InvalidInput } from '../special/errors.js'

/**
 * Chances of 0..n events, by adding one event at a time: exact up to rounding, O(n²).
 * Source: Hong 2013, Computational Statistics & Data Analysis 59:41–51 (the direct convolution).
 * @throws InvalidInput for a chance outside [0, 1]
 */
export function poissonBinomial(probabilities: readonly number[]): number[] {
  let pmf = [1]
  for (const [index, probability] of probabilities.entries()) {
    if (!(probability >= 0 && probability <= 1)) throw new InvalidInput(`probabilities[${index}]`, 'must lie between 0 and 1')
    const next = new Array<number>(pmf.length + 1).fill(0)
    for (const [count, chance] of pmf.entries()) {
      next[count] = (next[count] as number) + chance * (1 - probability)
      next[count + 1] = (next[count + 1] as number) + chance * probability
    }
    pmf = next
  }
  return pmf
}

export function cumulativeOf(pmf: readonly number[]): number[] {
  let sum = 0
  return pmf.map((chance) => Math.min(1, (sum += chance)))
}
