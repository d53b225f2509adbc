/** Least squares line through a known point. */
import { InvalidInput, requireBetween, requireNotNegative, requirePositive } from '../special/errors.js'
import { studentQuantile } from '../special/student.js'
import { invertLine, type FiellerKind } from './inversion.js'
import { requirePairs } from './line.js'

export interface LineThroughOrigin {
  n: number
  slope: number
  /** null with a single pair. */
  slopeStandardError: number | null
  residualSd: number | null
  /** Uncentred: 1 − Σe²/Σy². null where every y is 0. */
  rSquared: number | null
  sumSquaresX: number
}

/**
 * y = slope · x. Source: normal equation of least squares, held against NIST StRD NoInt1; n − 1 degrees of freedom.
 * @param x, y at least 1 pair; some x other than 0
 * @example fitThroughOrigin([1, 2], [2, 4.5]).slope // 2.2
 */
export function fitThroughOrigin(x: readonly number[], y: readonly number[]): LineThroughOrigin {
  requirePairs(x, y, 1)
  const n = x.length
  let [xx, xy, yy] = [0, 0, 0]
  x.forEach((value, index) => {
    const other = y[index] as number
    xx += value * value
    xy += value * other
    yy += other * other
  })
  if (!(xx > 0)) throw new InvalidInput('x', 'must hold a value other than 0')
  const slope = xy / xx
  const residual = x.reduce((sum, value, index) => sum + ((y[index] as number) - slope * value) ** 2, 0)
  const residualSd = n > 1 ? Math.sqrt(residual / (n - 1)) : null
  return {
    n,
    slope,
    slopeStandardError: residualSd === null ? null : residualSd / Math.sqrt(xx),
    residualSd,
    rSquared: yy > 0 ? 1 - residual / yy : null,
    sumSquaresX: xx,
  }
}

export interface KnownLengthWear {
  n: number
  /** Millimetres lost per unit of usage. */
  wearPerUsage: number
  wearStandardError: number | null
  residualSd: number | null
  /** null where the lengths show no wear. */
  usageAtLimit: number | null
  kind: FiellerKind | null
  /** For one new reading at the limit. */
  usageAtLimitFieller: [number | null, number | null]
}

/** Wear of a part whose length when new is known exactly: the loss is a line through the origin. */
export function wearFromKnownLength(question: {
  /** Use since fitting, ≥ 0, in pairs with lengthMm. */
  usage: readonly number[]
  lengthMm: readonly number[]
  newLengthMm: number
  limitMm: number
  confidence: number
}): KnownLengthWear {
  const { usage, lengthMm, newLengthMm, limitMm, confidence } = question
  if (usage.length !== lengthMm.length)
    throw new InvalidInput('lengthMm', `has ${lengthMm.length} entries but usage has ${usage.length}; the lists must be equally long`)
  usage.forEach((value, index) => requireNotNegative(`usage[${index}]`, value))
  lengthMm.forEach((value, index) => requireNotNegative(`lengthMm[${index}]`, value))
  requirePositive('newLengthMm', newLengthMm)
  requireNotNegative('limitMm', limitMm)
  requireBetween('confidence', confidence, 0, 1)
  if (!(limitMm < newLengthMm)) throw new InvalidInput('limitMm', 'must be below newLengthMm')
  if (!usage.some((value) => value > 0)) throw new InvalidInput('usage', 'must hold a value above 0')
  const line = fitThroughOrigin(
    usage,
    lengthMm.map((length) => newLengthMm - length),
  )
  return { ...limitCrossing(line, newLengthMm - limitMm, confidence), n: line.n }
}

function limitCrossing(line: LineThroughOrigin, wearAllowance: number, confidence: number): Omit<KnownLengthWear, 'n'> {
  const { slope, slopeStandardError, residualSd, sumSquaresX } = line
  const shared = { wearPerUsage: slope, wearStandardError: slopeStandardError, residualSd }
  const usageAtLimit = slope > 0 ? wearAllowance / slope : null
  if (residualSd === null) return { ...shared, usageAtLimit, kind: null, usageAtLimitFieller: [null, null] }
  const t = studentQuantile((1 + confidence) / 2, line.n - 1)
  const { kind, fieller } = invertLine({ slope, rise: wearAllowance, residualSd, t, ownVariance: 1, sumSquares: sumSquaresX, origin: 0 })
  return { ...shared, usageAtLimit, kind, usageAtLimitFieller: fieller }
}
