/** Further strips at several chances of being below a limit, from one sweep over the chance instead of a search for each. */
import type { StripsNode } from '../combine/first-due.js'
import type { WearPosterior } from './brushes.js'

/** Weights below this change no day. */
const NEGLIGIBLE = 1e-9
const SWEEP = 44

/**
 * Standard normal distribution function.   Source: Hart, Computer Approximations, 1968, algorithm 5666, as set out by
 * West, Better approximations to cumulative normal functions, Wilmott Magazine, 2005. Absolute error below 1e-14.
 */
export function hartNormalCdf(z: number): number {
  const size = Math.abs(z)
  if (size > 37) return z > 0 ? 1 : 0
  const bell = Math.exp((-size * size) / 2)
  let tail: number
  if (size < 7.07106781186547) {
    let top = 3.52624965998911e-2 * size + 0.700383064443688
    top = top * size + 6.37396220353165
    top = top * size + 33.912866078383
    top = top * size + 112.079291497871
    top = top * size + 221.213596169931
    top = top * size + 220.206867912376
    let bottom = 8.83883476483184e-2 * size + 1.75566716318264
    bottom = bottom * size + 16.064177579207
    bottom = bottom * size + 86.7807322029461
    bottom = bottom * size + 296.564248779674
    bottom = bottom * size + 637.333633378831
    bottom = bottom * size + 793.826512519948
    bottom = bottom * size + 440.413735824752
    tail = (bell * top) / bottom
  } else {
    const fraction = size + 1 / (size + 2 / (size + 3 / (size + 4 / (size + 0.65))))
    tail = bell / (fraction * 2.506628274631)
  }
  return z > 0 ? 1 - tail : tail
}

type Chance = (more: number) => number

/** Chance of being below the limit after `more` strips, without the rates that nearly cannot be. */
function chanceOf({ rates, weights, lengthNow, lengthNowSd }: WearPosterior, limitMm: number): Chance {
  const weight = new Float64Array(weights.length)
  const rate = new Float64Array(weights.length)
  const start = new Float64Array(weights.length)
  let kept = 0
  for (let index = 0; index < weights.length; index++) {
    if (!(weights[index]! > NEGLIGIBLE)) continue
    const perSd = 1 / Math.max(1e-6, lengthNowSd[index]!)
    weight[kept] = weights[index]!
    rate[kept] = rates[index]! * perSd
    start[kept++] = (limitMm - lengthNow[index]!) * perSd
  }
  return (more) => {
    let chance = 0
    for (let at = 0; at < kept; at++) {
      const z = start[at]! + rate[at]! * more
      // Beyond eight deviations the distribution is 0 or 1 to the last digit that counts here.
      chance += z > 8 ? weight[at]! : z < -8 ? 0 : weight[at]! * hartNormalCdf(z)
    }
    return chance
  }
}

/**
 * @param levels chances in (0, 1), rising
 * @returns strips, pairing `levels`; 0 where the chance is reached already. Right to about a hundredth of the spread
 * between the lowest and the highest level: a sweep over the chance, and straight lines between its points.
 */
export function stripsAtLevels(posterior: WearPosterior, limitMm: number, levels: readonly number[]): number[] {
  return stripsAt(chanceOf(posterior, limitMm), levels)
}

function stripsAt(chance: Chance, levels: readonly number[]): number[] {
  const now = chance(0)
  const highest = levels.at(-1) ?? 0
  if (now >= highest) return levels.map(() => 0)
  let high = 1000
  while (chance(high) < highest && high < 1e9) high *= 2
  const lowest = levels[0] ?? 0
  let low = 0
  for (let step = 0, top = high; step < 12; step++) {
    const middle = (low + top) / 2
    if (chance(middle) < lowest) low = middle
    else top = middle
  }
  const at: number[] = []
  const reached: number[] = []
  for (let index = 0; index <= SWEEP; index++) {
    at.push(low + ((high - low) * index) / SWEEP)
    reached.push(chance(at[index] as number))
  }
  let index = 1
  return levels.map((level) => {
    if (now >= level) return 0
    while (index < SWEEP && (reached[index] as number) < level) index++
    const [before, after] = [reached[index - 1] as number, reached[index] as number]
    const share = after > before ? Math.min(1, Math.max(0, (level - before) / (after - before))) : 1
    return (at[index - 1] as number) + share * ((at[index] as number) - (at[index - 1] as number))
  })
}

/** Nodes of the further strips to the crossing, given that it has not been crossed: equal shares of probability. */
export function crossingLevels(posterior: WearPosterior, limitMm: number, count: number): StripsNode[] {
  const chance = chanceOf(posterior, limitMm)
  const crossed = chance(0)
  const levels = Array.from({ length: count }, (_, index) => Math.min(1 - 1e-9, crossed + (1 - crossed) * ((index + 0.5) / count)))
  return stripsAt(chance, levels).map((remaining) => ({ remaining, weight: 1 / count }))
}
