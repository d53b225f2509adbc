/** Numbers that a seed repeats (mulberry32): a failure names its seed and can be run again. */
export class Dice {
  constructor(private state: number) {}

  next(): number {
    this.state = (this.state + 0x6d2b79f5) | 0
    let value = Math.imul(this.state ^ (this.state >>> 15), 1 | this.state)
    value = (value + Math.imul(value ^ (value >>> 7), 61 | value)) ^ value
    return ((value ^ (value >>> 14)) >>> 0) / 2 ** 32
  }
  below(end: number): number {
    return Math.floor(this.next() * end)
  }
  chance(probability: number): boolean {
    return this.next() < probability
  }
  pick<T>(list: readonly T[]): T {
    return list[this.below(list.length)] as T
  }
}
