import type { Calculation } from './calculation.js'

export const lifeCalculations: readonly Calculation[] = []
