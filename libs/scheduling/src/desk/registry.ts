/** Every calculation of the desk under its name. */
import { fleetCalculations, lifeCalculations, type Calculation } from '@tapewarden/reliability'
import { timeCalculations } from './time-calculations.js'

function byName(lists: readonly (readonly Calculation[])[]): ReadonlyMap<string, Calculation> {
  const found = new Map<string, Calculation>()
  for (const calculation of lists.flat()) {
    if (found.has(calculation.name)) throw new Error(`Two calculations are called ${calculation.name}`)
    found.set(calculation.name, calculation)
  }
  return found
}

export const calculations = byName([lifeCalculations, fleetCalculations, timeCalculations])
