/** Figures with their 95 % limits, or why there is none. Pure. */
import { betaQuantile, chiSquareQuantile, studentQuantile } from '@tapewarden/reliability'
import type { Estimate } from '@tapewarden/shared'

const MOST_KNOWN = 10_000
/** Of ten thousand machines most had one stoppage, or two: their limits are the same numbers. Forgets all when it is full. */
function remembered<Of extends number[]>(quantile: (chance: number, ...of: Of) => number): typeof quantile {
  const known = new Map<string, number>()
  return (chance, ...of) => {
    const key = `${chance} ${of.join(' ')}`
    const found = known.get(key) ?? quantile(chance, ...of)
    if (known.size >= MOST_KNOWN) known.clear()
    known.set(key, found)
    return found
  }
}
const chiSquare = remembered(chiSquareQuantile)
const beta = remembered(betaQuantile)

/** Fewer observations than this tell nothing worth a figure over a whole fleet. */
export const FEWEST = 5

function none(n: number, hiddenReason: string): Estimate {
  return { value: null, low: null, high: null, n, hiddenReason }
}

/**
 * Mean time between events at a constant rate: T/n, limits 2T/χ²(0.975; 2n + 2) and 2T/χ²(0.025; 2n), the time having been
 * ended by the clock and not by an event. Source: NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.5.1.
 * @param hours  observed, ≥ 0
 * @param n      events in that time
 */
export function meanBetween(hours: number, n: number, fewest = FEWEST): Estimate {
  if (n < Math.max(1, fewest)) return none(n, n === 0 ? 'None in this period.' : `Only ${n} in this period; at least ${fewest} are needed.`)
  return {
    value: hours / n,
    low: (2 * hours) / chiSquare(0.975, 2 * n + 2),
    high: (2 * hours) / chiSquare(0.025, 2 * n),
    n,
    hiddenReason: null,
  }
}

/**
 * Mean duration: limits 2S/χ²(0.975; 2n) and 2S/χ²(0.025; 2n), exact for durations that vary as much as their mean (exponential)
 * and wider than needed for those that vary less. Source: NIST/SEMATECH e-Handbook, 8.4.5.1, ended by an event.
 */
export function meanDuration(hours: readonly number[], fewest = FEWEST): Estimate {
  const n = hours.length
  if (n < Math.max(1, fewest)) return none(n, n === 0 ? 'None in this period.' : `Only ${n} in this period; at least ${fewest} are needed.`)
  const sum = hours.reduce((total, one) => total + one, 0)
  return {
    value: sum / n,
    low: (2 * sum) / chiSquare(0.975, 2 * n),
    high: (2 * sum) / chiSquare(0.025, 2 * n),
    n,
    hiddenReason: null,
  }
}

/** Mean with Student's limits, for figures that may be zero. */
export function meanOf(values: readonly number[]): Estimate {
  const n = values.length
  if (n < FEWEST) return none(n, n === 0 ? 'None in this period.' : `Only ${n} in this period; at least ${FEWEST} are needed.`)
  const mean = values.reduce((total, one) => total + one, 0) / n
  const spread = Math.sqrt(values.reduce((total, one) => total + (one - mean) ** 2, 0) / (n - 1) / n) * studentQuantile(0.975, n - 1)
  return { value: mean, low: Math.max(0, mean - spread), high: mean + spread, n, hiddenReason: null }
}

/** Share of k in n with exact limits. Source: C. J. Clopper, E. S. Pearson, Biometrika 26 (1934) 404. */
export function shareOf(k: number, n: number, fewest = FEWEST): Estimate {
  if (n < Math.max(1, fewest)) return none(n, n === 0 ? 'None in this period.' : `Only ${n} in this period; at least ${fewest} are needed.`)
  return {
    value: k / n,
    low: k === 0 ? 0 : beta(0.025, k, n - k + 1),
    high: k === n ? 1 : beta(0.975, k + 1, n - k),
    n,
    hiddenReason: null,
  }
}
