import type { Calculation } from './calculation.js'
import { economicsCalculations } from './economics-calculations.js'
import { measurementCalculations } from './measurement-calculations.js'
import { weibullCalculations } from './weibull-calculations.js'

export const lifeCalculations: readonly Calculation[] = [...weibullCalculations, ...economicsCalculations, ...measurementCalculations]
