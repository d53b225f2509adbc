/** One measured ratio: the product's time over that of its floor, in the same run. */
export interface BenchResult {
  name: string
  unit: 'ratio'
  min: number
  median: number
  max: number
  /** Largest ratio wanted; null: none stated. */
  goal: number | null
  note: string
}

/** @param ratios one a repetition, at least one */
export function summarise(name: string, ratios: readonly number[], goal: number | null, note: string): BenchResult {
  const sorted = [...ratios].sort((a, b) => a - b)
  const at = (index: number) => sorted[index] ?? Number.NaN
  return { name, unit: 'ratio', min: at(0), median: at(Math.floor((sorted.length - 1) / 2)), max: at(sorted.length - 1), goal, note }
}
