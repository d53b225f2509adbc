/** At which x a fitted line reaches a level: Fieller's exact limits and Wald's approximate ones. */

export type FiellerKind = 'interval' | 'two-rays' | 'whole-line'

export interface Inversion {
  /** null where the slope is exactly 0. */
  x: number | null
  /** two-rays: all x but the stretch between the limits; whole-line: the slope may be 0 and no x is excluded. */
  kind: FiellerKind
  fieller: [number | null, number | null]
  waldStandardError: number | null
  wald: [number | null, number | null]
}

export interface InversionQuestion {
  slope: number
  /** Level above the line's value at `origin`. */
  rise: number
  residualSd: number
  /** Student quantile of the wanted confidence. */
  t: number
  /** Variance at the origin over that of a residual: 1/n, plus 1 for one new reading. */
  ownVariance: number
  /** Σ (x − origin)². */
  sumSquares: number
  origin: number
}

/**
 * All d = x − origin with (rise − slope·d)² ≤ t²s²(ownVariance + d²/sumSquares); g = t²s²/(slope² sumSquares) ≥ 1 leaves no
 * bounded set. Source: Fieller, J. Royal Statistical Society B 16, 1954; Draper & Smith 1998, section 3.2.
 */
export function invertLine(question: InversionQuestion): Inversion {
  const { slope, rise, residualSd, t, ownVariance, sumSquares, origin } = question
  const limits = fieller(question)
  if (slope === 0) return { x: null, ...limits, waldStandardError: null, wald: [null, null] }
  const d = rise / slope
  const error = (residualSd / Math.abs(slope)) * Math.sqrt(ownVariance + (d * d) / sumSquares)
  const x = origin + d
  return { x, ...limits, waldStandardError: error, wald: [x - t * error, x + t * error] }
}

function fieller({ slope, rise, residualSd, t, ownVariance, sumSquares, origin }: InversionQuestion): Pick<Inversion, 'kind' | 'fieller'> {
  const noise = (t * residualSd) ** 2
  const lead = slope * slope - noise / sumSquares
  const discriminant = noise * (slope * slope * ownVariance + (rise * rise - noise * ownVariance) / sumSquares)
  if (lead === 0 || slope === 0 || discriminant < 0) return { kind: 'whole-line', fieller: [null, null] }
  const root = Math.sqrt(discriminant)
  // The root of larger size first, the other through their product: no cancellation
  const large = slope * rise + (slope * rise >= 0 ? root : -root)
  const product = rise * rise - noise * ownVariance
  const both = large === 0 ? [0, 0] : [large / lead, product / large]
  const [low, high] = both.sort((a, b) => a - b) as [number, number]
  return { kind: lead > 0 ? 'interval' : 'two-rays', fieller: [origin + low, origin + high] }
}
