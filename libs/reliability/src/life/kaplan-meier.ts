/** Survival without a model: Kaplan–Meier with Greenwood's error, and Nelson–Aalen's cumulative hazard. */
import { normalQuantile } from '../special/normal.js'
import { checkLifeData, type LifeData } from './life-data.js'

export type OptionalLimits = [number | null, number | null]

/** One row a distinct age at which something failed, in rising order. */
export interface SurvivalRow {
  time: number
  /** Parts under observation and good just before; a part taken out at that very age still counts. */
  atRisk: number
  failed: number
  survival: number
  /** Greenwood. null where survival is 0. */
  standardError: number | null
  log95: OptionalLimits
  logLog95: OptionalLimits
  plain95: OptionalLimits
  /** Nelson–Aalen. */
  cumulativeHazard: number
  /** After Aalen: Σ failed/atRisk². */
  cumulativeHazardVariance: number
}

export interface SurvivalCurve {
  rows: SurvivalRow[]
  oldest: number
}

interface Step {
  time: number
  atRisk: number
  failed: number
}

/** Failures and risk sets by distinct failure age. O(n log n). */
function stepsOf({ time, failed, count, entry }: LifeData): { steps: Step[]; oldest: number } {
  const order = Uint32Array.from({ length: time.length }, (_, row) => row).sort((a, b) => (time[a] as number) - (time[b] as number))
  const entries = entry ? [...order].sort((a, b) => (entry[a] as number) - (entry[b] as number)) : []
  const partsOf = (row: number) => count?.[row] ?? 1
  let left = 0
  let entered = 0
  let nextEntry = 0
  const all = order.reduce((sum, row) => sum + partsOf(row), 0)
  const steps: Step[] = []
  let oldest = 0
  for (let index = 0; index < order.length;) {
    const now = time[order[index] as number] as number
    for (; nextEntry < entries.length && (entry?.[entries[nextEntry] as number] as number) < now; nextEntry++)
      entered += partsOf(entries[nextEntry] as number)
    const atRisk = (entry ? entered : all) - left
    let failures = 0
    for (; index < order.length && time[order[index] as number] === now; index++) {
      const row = order[index] as number
      left += partsOf(row)
      if (failed[row]) failures += partsOf(row)
      if (partsOf(row) > 0) oldest = now
    }
    if (failures > 0) steps.push({ time: now, atRisk, failed: failures })
  }
  return { steps, oldest }
}

const cut = (value: number): number => Math.min(1, Math.max(0, value))

function limits(survival: number, rootSum: number): Pick<SurvivalRow, 'standardError' | 'log95' | 'logLog95' | 'plain95'> {
  if (survival <= 0) return { standardError: null, log95: [null, null], logLog95: [null, null], plain95: [null, null] }
  const z = normalQuantile(0.975)
  const error = survival * rootSum
  const bend = (z * rootSum) / Math.log(survival)
  return {
    standardError: error,
    log95: [cut(survival * Math.exp(-z * rootSum)), cut(survival * Math.exp(z * rootSum))],
    logLog95: [survival ** Math.exp(-bend), survival ** Math.exp(bend)],
    plain95: [cut(survival - z * error), cut(survival + z * error)],
  }
}

/**
 * Ŝ falls by the factor 1 − failed/atRisk at each failure age.
 * Source: Kaplan & Meier, J. American Statistical Association 53, 1958; Kalbfleisch & Prentice, 2nd ed. 2002, section 1.4.
 * @returns rows in rising order of age, none without failures. The data are left as they are.
 * @example survivalCurve({ time: [3, 5, 5, 8], failed: [1, 1, 0, 1] }).rows.map((row) => row.survival) // [0.75, 0.5, 0]
 */
export function survivalCurve(data: LifeData): SurvivalCurve {
  checkLifeData(data)
  const { steps, oldest } = stepsOf(data)
  let [survival, greenwood, hazard, variance] = [1, 0, 0, 0]
  const rows = steps.map(({ time, atRisk, failed }): SurvivalRow => {
    survival *= (atRisk - failed) / atRisk
    greenwood += failed / (atRisk * (atRisk - failed))
    hazard += failed / atRisk
    variance += failed / atRisk ** 2
    const spread = limits(survival, Math.sqrt(greenwood))
    return { time, atRisk, failed, survival, ...spread, cumulativeHazard: hazard, cumulativeHazardVariance: variance }
  })
  return { rows, oldest }
}

/** Survival products of exact halves are off by rounding only; this is R's tolerance for calling them equal. */
const EQUAL = 1.5e-8

/**
 * Age at which a falling curve passes `level`. Where it rests exactly on the level, the middle of that stretch, which
 * ends with the next failure or, without one, at the oldest observed age. null where it is not reached.
 */
export function ageAtLevel({ rows, oldest }: SurvivalCurve, level: number, value: (row: SurvivalRow) => number | null): number | null {
  const index = rows.findIndex((row) => {
    const at = value(row)
    return at !== null && at < level + EQUAL
  })
  const row = rows[index]
  if (!row) return null
  if ((value(row) as number) < level - EQUAL) return row.time
  const end = rows.slice(index + 1).find((later) => (value(later) ?? 0) < level - EQUAL)
  return (row.time + (end?.time ?? oldest)) / 2
}

/** Area under the curve from 0 to the oldest observed age. */
export function restrictedMean({ rows, oldest }: SurvivalCurve): number {
  let [area, from, height] = [0, 0, 1]
  for (const { time, survival } of rows) {
    area += (time - from) * height
    ;[from, height] = [time, survival]
  }
  return area + (oldest - from) * height
}
