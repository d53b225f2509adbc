import { InvalidInput } from '../special/errors.js'

/**
 * James–Stein: shares of equally many trials drawn towards their mean by 1 − (k − 3) v / S, never beyond it.
 * Source: Efron & Morris 1977, Scientific American 236(5):119–127; positive part: Efron & Morris 1973, JASA 68:117–130.
 * @param proportions k ≥ 4 shares, each from 0 to 1   @param trials whole number, ≥ 1, the same for all
 * @returns factor null where all shares are equal; shrunk by the positive part, in the order of the shares
 */
export function shrinkProportions(proportions: readonly number[], trials: number) {
  const count = proportions.length
  if (count < 4)
    throw new InvalidInput('proportions', `must be at least 4, or nothing can be shrunk towards their mean; there are ${count}`)
  if (!Number.isInteger(trials) || trials < 1) throw new InvalidInput('trials', 'must be a whole number, 1 or more')
  proportions.forEach((share, index) => {
    if (!(share >= 0 && share <= 1)) throw new InvalidInput(`proportions[${index}]`, 'must lie between 0 and 1')
  })
  const grandMean = proportions.reduce((a, b) => a + b, 0) / count
  const sumOfSquares = proportions.every((share) => share === proportions[0])
    ? 0
    : proportions.reduce((sum, share) => sum + (share - grandMean) ** 2, 0)
  const variance = (grandMean * (1 - grandMean)) / trials
  const factor = sumOfSquares === 0 ? null : 1 - ((count - 3) * variance) / sumOfSquares
  const positivePartFactor = Math.max(0, factor ?? 0)
  return {
    grandMean,
    sumOfSquares,
    variance,
    factor,
    positivePartFactor,
    shrunk: proportions.map((share) => grandMean + positivePartFactor * (share - grandMean)),
  }
}
