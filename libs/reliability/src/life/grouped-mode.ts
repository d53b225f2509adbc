/** The most credible Weibull where of early failures only counts that they were early. */
import type { LifeData } from './life-data.js'
import type { PosteriorMode } from './posterior-mode.js'
import type { NormalPrior, WeibullPrior } from './prior.js'

/** Value, gradient and Hessian in (ln shape, ln scale); the Hessian as [first, mixed, second]. */
interface Surface {
  value: number
  gradient: [number, number]
  hessian: [number, number, number]
}

interface Hazard {
  value: number
  by: [number, number]
  twice: [number, number, number]
}

const NONE: Hazard = { value: 0, by: [0, 0], twice: [0, 0, 0] }

/** H(age) = exp(shape (ln age − ln scale)) and its derivatives. */
function hazardAt(age: number, logShape: number, logScale: number): Hazard {
  if (age === 0) return NONE
  const shape = Math.exp(logShape)
  const z = shape * (Math.log(age) - logScale)
  const value = Math.exp(z)
  return { value, by: [value * z, -shape * value], twice: [value * z * (1 + z), -shape * value * (1 + z), shape * shape * value] }
}

const difference = (a: Hazard, b: Hazard): Hazard => ({
  value: a.value - b.value,
  by: [a.by[0] - b.by[0], a.by[1] - b.by[1]],
  twice: [a.twice[0] - b.twice[0], a.twice[1] - b.twice[1], a.twice[2] - b.twice[2]],
})

function add({ gradient, hessian }: Surface, { by, twice }: Hazard, factor: number): void {
  gradient[0] += factor * by[0]
  gradient[1] += factor * by[1]
  hessian[0] += factor * twice[0]
  hessian[1] += factor * twice[1]
  hessian[2] += factor * twice[2]
}

/** ln(1 − exp(−gathered)): it failed somewhere between its entry and the end of the early ages. */
function addEarly(surface: Surface, gathered: Hazard): void {
  surface.value += Math.log(-Math.expm1(-gathered.value))
  const odds = 1 / Math.expm1(gathered.value)
  add(surface, gathered, odds)
  const bend = odds + odds * odds
  surface.hessian[0] -= bend * gathered.by[0] * gathered.by[0]
  surface.hessian[1] -= bend * gathered.by[0] * gathered.by[1]
  surface.hessian[2] -= bend * gathered.by[1] * gathered.by[1]
}

function addFailed(surface: Surface, age: number, logShape: number, logScale: number): void {
  const shape = Math.exp(logShape)
  const z = shape * (Math.log(age) - logScale)
  surface.value += logShape + z - Math.log(age)
  surface.gradient[0] += 1 + z
  surface.gradient[1] -= shape
  surface.hessian[0] += z
  surface.hessian[1] -= shape
}

function addPrior(surface: Surface, { mean, sd }: NormalPrior, value: number, place: 0 | 1): void {
  surface.value -= 0.5 * ((value - mean) / sd) ** 2 + Math.log(sd) + 0.5 * Math.log(2 * Math.PI)
  surface.gradient[place] -= (value - mean) / (sd * sd)
  surface.hessian[place * 2] = (surface.hessian[place * 2] as number) - 1 / (sd * sd)
}

function surfaceAt(
  { time, failed, entry }: LifeData,
  prior: WeibullPrior,
  earlyUntil: number,
  logShape: number,
  logScale: number,
): Surface {
  const surface: Surface = { value: 0, gradient: [0, 0], hessian: [0, 0, 0] }
  const atEarlyEnd = hazardAt(earlyUntil, logShape, logScale)
  for (let index = 0; index < time.length; index++) {
    const age = time[index] as number
    const before = hazardAt(entry?.[index] ?? 0, logShape, logScale)
    if (failed[index] && age < earlyUntil) {
      addEarly(surface, difference(atEarlyEnd, before))
      continue
    }
    const gathered = difference(hazardAt(age, logShape, logScale), before)
    surface.value -= gathered.value
    add(surface, gathered, -1)
    if (failed[index]) addFailed(surface, age, logShape, logScale)
  }
  addPrior(surface, prior.logShape, logShape, 0)
  addPrior(surface, prior.logScale, logScale, 1)
  return surface
}

/** Newton's step, damped until the curvature is that of a top. */
function stepOf({ gradient: [g, h], hessian: [a, b, c] }: Surface, damping: number): [number, number] | null {
  const [first, second] = [a - damping, c - damping]
  const determinant = first * second - b * b
  if (!(first < 0 && determinant > 0)) return null
  return [(b * h - second * g) / determinant, (b * g - first * h) / determinant]
}

const MOST_STEPS = 200
const SETTLED = 1e-10
const LONGEST_STEP = 0.5

/**
 * Posterior mode of ln shape and ln scale. A failure below `earlyUntil` counts as one that came between its entry and that age
 * (interval censoring; Meeker & Escobar, Statistical Methods for Reliability Data, 1998, section 3.2): parts that fail as good as
 * new fail by a fault of their making or fitting, and the exact age of one of them, a few days, would by itself make a Weibull
 * that wears out into one that does not.
 * @param earlyUntil in the unit of the ages, > 0   @param data times > 0, entries below their times
 * Gradient and curvature are exact. O(steps × parts).
 */
export function groupedMode(data: LifeData, prior: WeibullPrior, earlyUntil: number): PosteriorMode {
  let [logShape, logScale] = [prior.logShape.mean, prior.logScale.mean]
  let surface = surfaceAt(data, prior, earlyUntil, logShape, logScale)
  let damping = 0
  for (let count = 0; count < MOST_STEPS; count++) {
    const step = stepOf(surface, damping)
    const length = step ? Math.hypot(...step) : Infinity
    if (step && damping === 0 && length < SETTLED) break
    const next = step && length <= LONGEST_STEP ? surfaceAt(data, prior, earlyUntil, logShape + step[0], logScale + step[1]) : null
    if (step && next && next.value >= surface.value) {
      logShape += step[0]
      logScale += step[1]
      surface = next
      damping = damping < 1e-3 ? 0 : damping / 4
    } else if (step && damping === 0 && length < 1e-6) break
    else damping = damping === 0 ? 1 : damping * 4
  }
  const [a, b, c] = surface.hessian
  const determinant = a * c - b * b
  return {
    logShape,
    logScale,
    logDensity: surface.value,
    covariance: [
      [-c / determinant, b / determinant],
      [b / determinant, -a / determinant],
    ],
  }
}
