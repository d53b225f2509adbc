import { InvalidInput, requireFinite, requirePositive } from '../special/errors.js'

/** As many standard errors as estimates, all of them above 0. */
export function checkEstimates(estimates: readonly number[], standardErrors: readonly number[], least: number): void {
  if (estimates.length < least) throw new InvalidInput('estimates', `must hold at least ${least}; there are ${estimates.length}`)
  if (standardErrors.length !== estimates.length)
    throw new InvalidInput('standardErrors', `must be as many as estimates; there are ${standardErrors.length} for ${estimates.length}`)
  estimates.forEach((value, index) => requireFinite(`estimates[${index}]`, value))
  standardErrors.forEach((value, index) => requirePositive(`standardErrors[${index}]`, value))
}
