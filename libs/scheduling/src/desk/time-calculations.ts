import type { Calculation } from '@tapewarden/reliability'

export const timeCalculations: readonly Calculation[] = []
