/** Shares and means with intervals that know that members of one cluster are alike. */
import { studentQuantile } from '@tapewarden/reliability'

export interface Clustered {
  value: number
  /** 95 % interval; null with fewer than two clusters. */
  low: number | null
  high: number | null
  count: number
}

/**
 * Ratio estimate over clusters with Student limits. Source: Cochran, Sampling Techniques, 3rd ed. 1977, section 6.3 (ratio of cluster totals).
 * @param values one a member   @param clusters as many, naming each member's cluster
 */
export function clusteredMean(values: readonly number[], clusters: readonly string[]): Clustered {
  const sums = new Map<string, { sum: number; count: number }>()
  for (const [index, value] of values.entries()) {
    const name = clusters[index] as string
    const one = sums.get(name) ?? { sum: 0, count: 0 }
    sums.set(name, { sum: one.sum + value, count: one.count + 1 })
  }
  const count = values.length
  if (count === 0) return { value: 0, low: null, high: null, count }
  const value = values.reduce((a, b) => a + b, 0) / count
  const groups = sums.size
  if (groups < 2) return { value, low: null, high: null, count }
  const squares = [...sums.values()].reduce((total, one) => total + (one.sum - value * one.count) ** 2, 0)
  const error = Math.sqrt((squares * groups) / (groups - 1)) / count
  const reach = studentQuantile(0.975, groups - 1) * error
  return { value, low: value - reach, high: value + reach, count }
}
