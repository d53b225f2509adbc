/**
 * Regularised incomplete gamma functions for large arguments. @stdlib (as Boost, from which it comes) takes the asymptotic
 * series for x above 1000 even where the shape is as large, where that series diverges: P(2000, 2000) came out at 0.494
 * instead of 0.503. Here: the power series below the shape, Legendre's continued fraction above it.
 */
import gammaln from '@stdlib/math-base-special-gammaln'

/** Terms needed grow as a few √shape. */
const MOST_TERMS = 10_000_000

/** μ − ln(1 + μ) for μ > −1 without cancellation near 0: with r = μ/(2 + μ), ln(1 + μ) = 2(r + r³/3 + r⁵/5 + …). */
function excessOverLog(mu: number): number {
  if (Math.abs(mu) > 0.4) return mu - Math.log1p(mu)
  const r = mu / (2 + mu)
  const square = r * r
  let [sum, power] = [0, square]
  for (let odd = 3; power > 1e-18; odd += 2) {
    sum += power / odd
    power *= square
  }
  return r * (mu - 2 * sum)
}

/**
 * x^shape e^(−x) / Γ(shape + 1). For a large shape by Stirling's series (DLMF 5.11.1), so that its exponent is the small
 * shape·(μ − ln(1 + μ)) with μ = x/shape − 1 instead of a difference of large numbers.
 */
export function gammaPrefix(shape: number, x: number): number {
  if (shape < 20) return Math.exp(shape * Math.log(x) - x - gammaln(shape + 1))
  const over = 1 / (shape * shape)
  const stirling = (1 / 12 - over * (1 / 360 - over * (1 / 1260 - over / 1680))) / shape
  return Math.exp(-shape * excessOverLog((x - shape) / shape) - stirling) / Math.sqrt(2 * Math.PI * shape)
}

/** P/prefix = Σ x^n / ((shape + 1) … (shape + n)). Source: DLMF 8.7.1. */
function lowerSeries(shape: number, x: number): number {
  let [sum, term] = [1, 1]
  for (let n = 1; n < MOST_TERMS && term > sum * 1e-17; n++) {
    term *= x / (shape + n)
    sum += term
  }
  return sum
}

/** Q/(shape · prefix) = 1/(x + 1 − shape − 1(1 − shape)/(x + 3 − shape − …)) by Lentz' rule. Source: DLMF 8.9.2. */
function upperFraction(shape: number, x: number): number {
  let b = x + 1 - shape
  let c = 1e300
  let d = 1 / b
  let fraction = d
  for (let n = 1; n < MOST_TERMS; n++) {
    const a = -n * (n - shape)
    b += 2
    d = 1 / (a * d + b)
    c = b + a / c
    fraction *= d * c
    if (Math.abs(d * c - 1) < 1e-16) break
  }
  return fraction
}

/**
 * @param shape > 0   @param x > 0, large
 * @returns [P, Q]; the one below 0.6 keeps its relative accuracy, about 1e-15 times the size of its logarithm
 */
export function largeGammaPair(shape: number, x: number): [number, number] {
  const prefix = gammaPrefix(shape, x)
  // So far out that one chance is too small for a number: the series would only take its time to say the same
  if (prefix === 0) return x < shape ? [0, 1] : [1, 0]
  if (x < shape) {
    const lower = prefix * lowerSeries(shape, x)
    return [lower, 1 - lower]
  }
  const upper = prefix * shape * upperFraction(shape, x)
  return [1 - upper, upper]
}
