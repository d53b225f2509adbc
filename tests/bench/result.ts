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

/** Also says at once what was measured, so that a long bench that is ended early has not run for nothing.
 * @param ratios one a repetition, at least one */
export function summarise(name: string, ratios: readonly number[], goal: number | null, note: string): BenchResult {
  const sorted = [...ratios].sort((a, b) => a - b)
  const at = (index: number) => sorted[index] ?? Number.NaN
  const result: BenchResult = {
    name,
    unit: 'ratio',
    min: at(0),
    median: at(Math.floor((sorted.length - 1) / 2)),
    max: at(sorted.length - 1),
    goal,
    note,
  }
  console.error(
    `  ${name}: ${result.median.toFixed(2)} (${result.min.toFixed(2)}–${result.max.toFixed(2)}), goal ${goal ?? 'none'}; ${note}`,
  )
  return result
}
