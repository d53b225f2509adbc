/** A small seeded generator, so that the demo is the same story on every machine. Source: sfc32, PractRand (Doty-Humphrey). */
export class Random {
  #state: [number, number, number, number]

  constructor(seed: number) {
    this.#state = [0x9e3779b9, 0x243f6a88, 0xb7e15162, seed | 0]
    for (let i = 0; i < 20; i++) this.next()
  }

  /** Uniform in [0, 1). */
  next(): number {
    const s = this.#state
    const sum = (((s[0] + s[1]) | 0) + s[3]) | 0
    s[3] = (s[3] + 1) | 0
    s[0] = s[1] ^ (s[1] >>> 9)
    s[1] = (s[2] + (s[2] << 3)) | 0
    s[2] = (((s[2] << 21) | (s[2] >>> 11)) + sum) | 0
    return (sum >>> 0) / 4294967296
  }

  between(low: number, high: number): number {
    return low + (high - low) * this.next()
  }

  whole(low: number, high: number): number {
    return Math.floor(this.between(low, high + 1))
  }

  chance(probability: number): boolean {
    return this.next() < probability
  }

  pick<T>(items: readonly T[]): T {
    return items[this.whole(0, items.length - 1)] as T
  }

  /** Normal by Box and Muller. */
  normal(mean: number, sd: number): number {
    return mean + sd * Math.sqrt(-2 * Math.log(1 - this.next())) * Math.cos(2 * Math.PI * this.next())
  }
}
