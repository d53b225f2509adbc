import { InvalidInput, requirePositive } from '../special/errors.js'
import type { Watched } from './power-law.js'

/** Sorts; refuses failures at or before 0 and after the end of the watch. */
export function checkWatched(failures: readonly number[], end: number, field: string, endField: string): Watched {
  requirePositive(endField, end)
  failures.forEach((time, index) => {
    requirePositive(`${field}[${index}]`, time)
    if (time > end) throw new InvalidInput(`${field}[${index}]`, `must not lie after the end of the watch, ${end}; it is ${time}`)
  })
  return { failures: failures.toSorted((a, b) => a - b), end }
}
