/** Is the function check complete, and are the strips within tolerance? */
import type { Units } from '@tapewarden/shared/vocabulary'
import { sayMeasured } from '../words/say.js'
import type { FunctionCheck } from './function-check.js'

export interface FunctionCheckResult {
  strips: readonly { askedMm: number; measuredMm: number }[]
  coversOn: boolean
  cordLookedAt: boolean
  wetStripTore: boolean | null
}

export interface FunctionCheckJudged {
  /** null: no tolerance is stated for the type, so lengths are noted and not judged. */
  withinTolerance: boolean | null
  outOfTolerance: readonly { askedMm: number; measuredMm: number }[]
  /** What is still to be done before the check is complete; empty: complete. */
  missing: readonly string[]
}

/** Lengths count as asked where they agree to half a tenth of a millimetre. */
const sameLength = (a: number, b: number): boolean => Math.abs(a - b) < 0.05

function missingOf(check: FunctionCheck, result: FunctionCheckResult, electric: boolean, units: Units): string[] {
  if (check.kind === 'none') return []
  const missing: string[] = []
  if (!result.coversOn) missing.push('The covers are not said to be on.')
  if (electric && !result.cordLookedAt) missing.push('The cord or cable was not looked at.')
  for (const { askedMm, times, what } of check.asks) {
    const cut = result.strips.filter((strip) => sameLength(strip.askedMm, askedMm)).length
    if (cut < times) missing.push(`${times - cut} more of the ${what} length, ${sayMeasured(askedMm, units)}.`)
  }
  if (check.kind === 'full' && result.wetStripTore !== true) missing.push('No wet strip was pulled off with the paper torn.')
  return missing
}

/** @param units in which it is said what is missing */
export function judgeFunctionCheck(
  check: FunctionCheck,
  result: FunctionCheckResult,
  electric: boolean,
  units: Units = 'si',
): FunctionCheckJudged {
  const tolerance = check.toleranceMm
  const outOfTolerance =
    tolerance === null ? [] : result.strips.filter(({ askedMm, measuredMm }) => Math.abs(measuredMm - askedMm) > tolerance + 1e-9)
  return {
    withinTolerance: tolerance === null ? null : outOfTolerance.length === 0,
    outOfTolerance,
    missing: missingOf(check, result, electric, units),
  }
}
