/**
 * S_k(shape) = Σ count · (t^shape ln^k t − entry^shape ln^k entry), ages over the oldest: all that the Weibull
 * likelihood needs of the data besides the failures' own logs.
 */
import type { PreparedLife } from './life-data.js'

/** S_0 … S_3 at one shape. */
export interface PowerSums {
  s0: number
  s1: number
  s2: number
  s3: number
}

export function powerSums(life: PreparedLife, shape: number): PowerSums {
  if (life.entryLog) return withEntries(life, life.entryLog, shape)
  const { log, weight, rows } = life
  let [s0, s1, s2, s3] = [0, 0, 0, 0]
  for (let row = 0; row < rows; row++) {
    const x = log[row] as number
    if (x === -Infinity) continue
    let power = Math.exp(shape * x)
    if (weight) power *= weight[row] as number
    s0 += power
    power *= x
    s1 += power
    power *= x
    s2 += power
    s3 += power * x
  }
  return { s0, s1, s2, s3 }
}

function withEntries({ log, weight, rows }: PreparedLife, entryLog: Float64Array, shape: number): PowerSums {
  let [s0, s1, s2, s3] = [0, 0, 0, 0]
  for (let row = 0; row < rows; row++) {
    const x = log[row] as number
    if (x === -Infinity) continue
    const parts = weight ? (weight[row] as number) : 1
    const power = parts * Math.exp(shape * x)
    const y = entryLog[row] as number
    const fromNew = y === -Infinity
    const before = fromNew ? 0 : parts * Math.exp(shape * y)
    const e = fromNew ? 0 : y
    // The difference of two close powers through expm1, or it would lose its digits
    s0 += fromNew ? power : -power * Math.expm1(shape * (y - x))
    s1 += power * x - before * e
    s2 += power * x * x - before * e * e
    s3 += power * x * x * x - before * e * e * e
  }
  return { s0, s1, s2, s3 }
}
