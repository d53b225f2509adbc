import type { Calculation } from './calculation.js'

export const fleetCalculations: readonly Calculation[] = []
