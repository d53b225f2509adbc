/** Seeded generator of the simulator; its own, so that it shares no code with what it tries. Source: mulberry32 (public domain). */
export class Dice {
  #state: number
  #spare: number | null = null

  constructor(seed: number) {
    this.#state = seed >>> 0
  }

  /** Uniform in [0, 1). */
  uniform(): number {
    this.#state = (this.#state + 0x6d2b79f5) >>> 0
    let t = this.#state
    t = Math.imul(t ^ (t >>> 15), t | 1)
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61)
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296
  }

  between(low: number, high: number): number {
    return low + (high - low) * this.uniform()
  }

  chance(probability: number): boolean {
    return this.uniform() < probability
  }

  whole(low: number, high: number): number {
    return low + Math.floor((high - low + 1) * this.uniform())
  }

  /** Standard normal, polar method (Marsaglia and Bray 1964). */
  normal(mean = 0, sd = 1): number {
    if (this.#spare !== null) {
      const value = this.#spare
      this.#spare = null
      return mean + sd * value
    }
    for (;;) {
      const u = 2 * this.uniform() - 1
      const v = 2 * this.uniform() - 1
      const s = u * u + v * v
      if (s >= 1 || s === 0) continue
      const factor = Math.sqrt((-2 * Math.log(s)) / s)
      this.#spare = v * factor
      return mean + sd * u * factor
    }
  }

  /** Gamma with the given shape and scale 1 (Marsaglia and Tsang 2000). */
  gamma(shape: number): number {
    if (shape < 1) return this.gamma(shape + 1) * (1 - this.uniform()) ** (1 / shape)
    const d = shape - 1 / 3
    const c = 1 / Math.sqrt(9 * d)
    for (;;) {
      const x = this.normal()
      const v = (1 + c * x) ** 3
      if (v <= 0) continue
      if (Math.log(1 - this.uniform()) < 0.5 * x * x + d - d * v + d * Math.log(v)) return d * v
    }
  }

  weibull(shape: number, scale: number): number {
    return scale * (-Math.log(1 - this.uniform())) ** (1 / shape)
  }

  poisson(mean: number): number {
    let count = 0
    for (let left = mean; ; count++) {
      left += Math.log(1 - this.uniform())
      if (left < 0) return count
    }
  }
}
