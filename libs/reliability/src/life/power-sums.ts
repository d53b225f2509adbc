/**
 * S_k(shape) = Σ count · (t^shape ln^k t − entry^shape ln^k entry), ages over the oldest: all that the Weibull
 * likelihood needs of the data besides the failures' own logs.
 */
import type { PreparedLife } from './life-data.js'

/** S_0 … S_4 at one shape. */
export interface PowerSums {
  s0: number
  s1: number
  s2: number
  s3: number
  s4: number
}

export function powerSums(life: PreparedLife, shape: number): PowerSums {
  if (life.entryLog) return withEntries(life, life.entryLog, shape)
  return life.weight ? weighted(life.log, life.weight, shape) : plain(life.log, shape)
}

/** The loop in which a fit spends its time: no branch, and one exponential a row. */
function plain(log: Float64Array, shape: number): PowerSums {
  let s0 = 0
  let s1 = 0
  let s2 = 0
  let s3 = 0
  let s4 = 0
  for (let row = 0; row < log.length; row++) {
    const x = log[row] as number
    const power = Math.exp(shape * x)
    const square = x * x
    const first = power * x
    s0 += power
    s1 += first
    s2 += power * square
    s3 += first * square
    s4 += power * square * square
  }
  return { s0, s1, s2, s3, s4 }
}

function weighted(log: Float64Array, weight: Float64Array, shape: number): PowerSums {
  const sums = { s0: 0, s1: 0, s2: 0, s3: 0, s4: 0 }
  for (let row = 0; row < log.length; row++) {
    const x = log[row] as number
    add(sums, (weight[row] as number) * Math.exp(shape * x), x)
  }
  return sums
}

function add(sums: PowerSums, power: number, x: number): void {
  sums.s0 += power
  sums.s1 += power * x
  sums.s2 += power * x * x
  sums.s3 += power * x * x * x
  sums.s4 += power * x * x * x * x
}

function withEntries({ log, weight }: PreparedLife, entryLog: Float64Array, shape: number): PowerSums {
  const sums = { s0: 0, s1: 0, s2: 0, s3: 0, s4: 0 }
  for (let row = 0; row < log.length; row++) {
    const x = log[row] as number
    const entered = entryLog[row] as number
    const parts = weight ? (weight[row] as number) : 1
    const power = parts * Math.exp(shape * x)
    const before = sums.s0
    add(sums, power, x)
    if (entered === -Infinity) continue
    add(sums, -parts * Math.exp(shape * entered), entered)
    // The difference of two close powers through expm1, or it would lose its digits
    sums.s0 = before - power * Math.expm1(shape * (entered - x))
  }
  return sums
}
