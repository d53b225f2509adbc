/** Power law from counts in intervals, where the failures' own ages are not known. */
import { InvalidInput, requirePositive } from '../special/errors.js'
import { bracketOutward, findRoot } from '../special/root.js'
import { sum } from './sum.js'

export interface GroupedPowerLaw {
  failures: number
  end: number
  /** null without a finite maximum, as are the three below. */
  shape: number | null
  rate: number | null
  intensityAtEnd: number | null
  instantaneousMtbf: number | null
  /** Why there is no fit. */
  reason?: 'no-failures' | 'one-interval' | 'failures-only-in-first-interval' | 'failures-only-in-last-interval'
}

function reasonAgainst(counts: readonly number[], failures: number): GroupedPowerLaw['reason'] {
  if (failures === 0) return 'no-failures'
  if (counts.length === 1) return 'one-interval'
  if (counts[0] === failures) return 'failures-only-in-first-interval'
  if (counts.at(-1) === failures) return 'failures-only-in-last-interval'
  return undefined
}

/** d/dβ ln(bᵝ − aᵝ) for 0 ≤ a < b, both relative to the end. */
function slope(from: number, to: number, shape: number): number {
  if (from === 0) return Math.log(to)
  const width = Math.log(to / from)
  return Math.log(from) + width / -Math.expm1(-shape * width)
}

/**
 * Largest likelihood of counts per interval: Σ n · d/dβ ln(tᵢᵝ − tᵢ₋₁ᵝ) = N ln T, rate N / Tᵝ.
 * Source: MIL-HDBK-189, C.5 (grouped data).
 * @param intervalEnds ages, > 0, rising; the first interval begins at 0   @param counts as many whole numbers
 */
export function groupedPowerLaw(intervalEnds: readonly number[], counts: readonly number[]): GroupedPowerLaw {
  if (intervalEnds.length === 0) throw new InvalidInput('intervalEnds', 'must hold at least one interval')
  if (counts.length !== intervalEnds.length)
    throw new InvalidInput('counts', `must be as many as intervalEnds; there are ${counts.length} for ${intervalEnds.length}`)
  intervalEnds.forEach((end, index) => {
    requirePositive(`intervalEnds[${index}]`, end)
    if (index > 0 && end <= (intervalEnds[index - 1] as number))
      throw new InvalidInput(`intervalEnds[${index}]`, 'must lie above the one before')
  })
  counts.forEach((count, index) => {
    if (!Number.isInteger(count) || count < 0) throw new InvalidInput(`counts[${index}]`, 'must be a whole number, 0 or more')
  })
  const end = intervalEnds.at(-1) as number
  const failures = sum(counts)
  const reason = reasonAgainst(counts, failures)
  if (reason) return { failures, end, shape: null, rate: null, intensityAtEnd: null, instantaneousMtbf: null, reason }
  const edges = [0, ...intervalEnds.map((each) => each / end)]
  const score = (logShape: number): number =>
    sum(
      counts.map((count, index) =>
        count === 0 ? 0 : count * slope(edges[index] as number, edges[index + 1] as number, Math.exp(logShape)),
      ),
    )
  const rising = score(0) > 0
  const bracket = bracketOutward(rising ? score : (x) => -score(x), 0, rising ? 1 : -1, rising ? 60 : -60)
  if (!bracket) throw new InvalidInput('counts', 'allow no shape between e^-60 and e^60')
  const shape = Math.exp(findRoot(score, Math.min(...bracket), Math.max(...bracket)))
  const intensityAtEnd = (failures * shape) / end
  return { failures, end, shape, rate: failures * end ** -shape, intensityAtEnd, instantaneousMtbf: 1 / intensityAtEnd }
}
