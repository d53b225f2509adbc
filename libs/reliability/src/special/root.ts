/** Where a continuous function crosses zero. */
import { InvalidInput } from './errors.js'

export class NoConvergence extends Error {
  readonly code = 'NO_CONVERGENCE'

  constructor(readonly residual: number) {
    super(`The search for a root did not settle; what is left is ${residual}`)
    this.name = 'NoConvergence'
  }
}

/**
 * Root between two points at which the function has opposite signs (or is zero).
 * Source: Brent, Algorithms for Minimization without Derivatives, 1973, chapter 4.
 * @param tolerance absolute, in units of x; never finer than the numbers themselves
 * @throws InvalidInput where the signs agree; NoConvergence after 200 steps
 */
export function findRoot(f: (x: number) => number, low: number, high: number, tolerance = 0): number {
  let [a, b] = [low, high]
  let [fa, fb] = [f(a), f(b)]
  if (fa === 0) return a
  if (fb === 0) return b
  if (!(fa < 0 !== fb < 0)) throw new InvalidInput('bracket', 'does not enclose a root')
  let [c, fc, step, before] = [a, fa, b - a, b - a]
  for (let count = 0; count < 200; count++) {
    if (fb < 0 === fc < 0) [c, fc, step, before] = [a, fa, b - a, b - a]
    if (Math.abs(fc) < Math.abs(fb)) [a, b, c, fa, fb, fc] = [b, c, b, fb, fc, fb]
    const near = 2.3e-16 * Math.abs(b) + tolerance / 2
    const half = (c - b) / 2
    if (Math.abs(half) <= near || fb === 0) return b
    const next = Math.abs(before) >= near && Math.abs(fa) > Math.abs(fb) ? interpolate(a, b, c, fa, fb, fc, half, near, before) : null
    before = next === null ? half : step
    step = next ?? half
    ;[a, fa] = [b, fb]
    b += Math.abs(step) > near ? step : half > 0 ? near : -near
    fb = f(b)
  }
  throw new NoConvergence(fb)
}

/** Inverse quadratic or secant step, or null where bisection is safer. */
function interpolate(
  a: number,
  b: number,
  c: number,
  fa: number,
  fb: number,
  fc: number,
  half: number,
  near: number,
  before: number,
): number | null {
  const s = fb / fa
  let p = 2 * half * s
  let q = 1 - s
  if (a !== c) {
    const [u, r] = [fa / fc, fb / fc]
    p = s * (2 * half * u * (u - r) - (b - a) * (r - 1))
    q = (u - 1) * (r - 1) * (s - 1)
  }
  if (p > 0) q = -q
  else p = -p
  return Number.isFinite(p / q) && 2 * p < Math.min(3 * half * q - Math.abs(near * q), Math.abs(before * q)) ? p / q : null
}

/**
 * Walks from `start` in steps that double, at most to `limit`, until the function turns negative.
 * @returns the last two points, or null where it never turns
 */
export function bracketOutward(f: (x: number) => number, start: number, firstStep: number, limit: number): [number, number] | null {
  let inside = start
  let step = firstStep
  while (inside !== limit) {
    const next = firstStep > 0 ? Math.min(inside + step, limit) : Math.max(inside + step, limit)
    if (f(next) < 0) return [inside, next]
    inside = next
    step *= 2
  }
  return null
}
