import { randomFillSync } from 'node:crypto'

const POOL_BYTES = 16 * 256
const pool = Buffer.alloc(POOL_BYTES)
let used = POOL_BYTES
let lastMs = 0
let counter = 0

/** Twelve bits that grow within one millisecond, so that ids of one process sort in the order in which they were made. */
function nextMoment(nowMs: number): void {
  if (nowMs > lastMs) {
    lastMs = nowMs
    counter = pool.readUInt16BE(used) & 0x07ff
    return
  }
  counter += 1
  if (counter > 0x0fff) {
    lastMs += 1
    counter = 0
  }
}

/** A new UUIDv7 (RFC 9562, 5.7) in lower-case text: unique without asking anyone, and in order of making within a process. */
export function newId(): string {
  if (used === POOL_BYTES) {
    randomFillSync(pool)
    used = 0
  }
  nextMoment(Date.now())
  const bytes = pool.subarray(used, used + 16)
  used += 16
  bytes.writeUIntBE(lastMs, 0, 6)
  bytes.writeUInt16BE(0x7000 | counter, 6)
  bytes[8] = 0x80 | ((bytes[8] ?? 0) & 0x3f)
  const hex = bytes.toString('hex')
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`
}

const UUID = /^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$/i

export function isId(text: string): boolean {
  return UUID.test(text)
}
