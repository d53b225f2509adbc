/**
 * In which line of a file a key stood first. The keys themselves are not kept, only 64 bits made of each: a million take
 * 24 MB however long they are. Of a million different keys two take each other for the same once in 37 million files.
 */
const SLOTS = 4096

export class SeenKeys {
  private high = new Int32Array(SLOTS)
  private low = new Int32Array(SLOTS)
  /** 0: the slot is free. */
  private lines = new Int32Array(SLOTS)
  private count = 0

  /** @returns the line in which it stood first, or null: then this one is it */
  firstLine(key: string, line: number): number | null {
    const [high, low] = bitsOf(key)
    const at = this.slotOf(high, low)
    const first = this.lines[at] as number
    if (first !== 0) return first
    this.put(at, high, low, line)
    if (++this.count * 2 > this.lines.length) this.grow()
    return null
  }

  private slotOf(high: number, low: number): number {
    const mask = this.lines.length - 1
    let at = low & mask
    while (this.lines[at] !== 0 && (this.low[at] !== low || this.high[at] !== high)) at = (at + 1) & mask
    return at
  }

  private put(at: number, high: number, low: number, line: number): void {
    this.high[at] = high
    this.low[at] = low
    this.lines[at] = line
  }

  private grow(): void {
    const { high, low, lines } = this
    this.high = new Int32Array(lines.length * 2)
    this.low = new Int32Array(lines.length * 2)
    this.lines = new Int32Array(lines.length * 2)
    lines.forEach((line, at) => {
      if (line === 0) return
      const [a, b] = [high[at] as number, low[at] as number]
      this.put(this.slotOf(a, b), a, b, line)
    })
  }
}

/** Two multiplicative hashes, each stirred with the other at the end. */
function bitsOf(key: string): [high: number, low: number] {
  let a = 0x9e3779b9 | 0
  let b = 0x41c6ce57
  for (let at = 0; at < key.length; at += 1) {
    const unit = key.charCodeAt(at)
    a = Math.imul(a ^ unit, 0x9e3779b1)
    a ^= a >>> 15
    b = Math.imul(b ^ unit, 0x5f356495)
    b ^= b >>> 13
  }
  a = Math.imul(a ^ (a >>> 16), 0x85ebca6b) ^ Math.imul(b ^ (b >>> 13), 0xc2b2ae35)
  b = Math.imul(b ^ (b >>> 16), 0x85ebca6b) ^ Math.imul(a ^ (a >>> 13), 0xc2b2ae35)
  return [a | 0, b | 0]
}
