/** Ages of parts that failed or were still good, checked and made ready for fitting. */
import { InvalidInput, requireNotNegative } from '../special/errors.js'

/** Lists pair up by position. Ages share one unit (years, strips), whichever it is. */
export interface LifeData {
  /** Age at failure, or the age reached without failing; ≥ 0, above 0 where failed. */
  time: ArrayLike<number>
  /** 1 failed, 0 still good or taken out for another reason. */
  failed: ArrayLike<number>
  /** How many parts a row stands for; whole, ≥ 0. One each where not given. */
  count?: ArrayLike<number> | undefined
  /** Age at which the part came under observation (left truncation); 0 ≤ entry < time. */
  entry?: ArrayLike<number> | undefined
}

/**
 * Logs are of the age over the oldest age, so they are ≤ 0 and powers of them never overflow.
 * entryLog is −Infinity where a part was observed from new.
 */
export interface PreparedLife {
  log: Float64Array
  /** In pairs with log. */
  failed: ArrayLike<number>
  /** null: every row stands for one part. */
  weight: Float64Array | null
  /** null: all parts observed from new. */
  entryLog: Float64Array | null
  parts: number
  failures: number
  /** Σ of log over failures. */
  sumLogFailed: number
  logOldest: number
  failureBeforeOldest: boolean
}

function requireSameLength(data: LifeData): void {
  const length = data.time.length
  if (length === 0) throw new InvalidInput('time', 'must have at least one entry')
  for (const field of ['failed', 'count', 'entry'] as const) {
    const list = data[field]
    if (list && list.length !== length)
      throw new InvalidInput(field, `has ${list.length} entries but time has ${length}; the lists must be equally long`)
  }
}

function checkRow(data: LifeData, row: number): void {
  const time = data.time[row] as number
  const failed = data.failed[row]
  requireNotNegative(`time[${row}]`, time)
  if (failed !== 0 && failed !== 1) throw new InvalidInput(`failed[${row}]`, 'must be 0 or 1')
  if (failed === 1 && time === 0) throw new InvalidInput(`time[${row}]`, 'must be above 0 for a part that failed')
  if (data.count) requireNotNegative(`count[${row}]`, data.count[row] as number)
  if (!data.entry) return
  requireNotNegative(`entry[${row}]`, data.entry[row] as number)
  if (!((data.entry[row] as number) < time)) throw new InvalidInput(`entry[${row}]`, 'must be below the time of the same part')
}

/** True where a row needs a closer look; no text is made for the many rows that are right. */
function isSuspect({ time, failed, count, entry }: LifeData, row: number): boolean {
  const age = time[row] as number
  const mark = failed[row]
  if (!(age > 0 && age < Infinity && (mark === 0 || mark === 1))) return true
  return count !== undefined || entry !== undefined
}

/** @throws InvalidInput naming list and row. The data are left as they are. */
export function checkLifeData(data: LifeData): void {
  requireSameLength(data)
  for (let row = 0; row < data.time.length; row++) if (isSuspect(data, row)) checkRow(data, row)
}

/** Rows that say something: of some parts, and of an age above 0 (a part just fitted and still good says nothing). */
function tellingRows({ time, count }: LifeData): number[] | null {
  let all = true
  for (let row = 0; row < time.length && all; row++) all = (time[row] as number) > 0 && (count?.[row] ?? 1) > 0
  if (all) return null
  return Array.from({ length: time.length }, (_, row) => row).filter((row) => (time[row] as number) > 0 && (count?.[row] ?? 1) > 0)
}

const partsIn = ({ time, count }: LifeData): number => (count ? Array.from(count).reduce((sum, parts) => sum + parts, 0) : time.length)

function only(data: LifeData, rows: readonly number[]): LifeData {
  const pick = (list: ArrayLike<number>) => Float64Array.from(rows, (row) => list[row] as number)
  return {
    time: pick(data.time),
    failed: pick(data.failed),
    count: data.count && pick(data.count),
    entry: data.entry && pick(data.entry),
  }
}

/** Checks the data and takes their logs. @throws InvalidInput naming list and row */
export function prepareLife(data: LifeData): PreparedLife {
  checkLifeData(data)
  const telling = tellingRows(data)
  return takeLogs(telling ? only(data, telling) : data, partsIn(data))
}

/** ln(age/oldest), where the ratio itself is too small for a number, too. */
function logOfRatio(age: number, oldest: number): number {
  const ratio = age / oldest
  return ratio > 1e-300 ? Math.log(ratio) : Math.log(age) - Math.log(oldest)
}

function takeLogs({ time, failed, count, entry }: LifeData, parts: number): PreparedLife {
  const rows = time.length
  let oldest = 0
  for (let row = 0; row < rows; row++) if ((time[row] as number) > oldest) oldest = time[row] as number
  if (oldest === 0) oldest = 1 // no row says anything, and the logs of none need no oldest age
  const log = new Float64Array(rows)
  let failures = 0
  let sumLogFailed = 0
  for (let row = 0; row < rows; row++) {
    const logAge = logOfRatio(time[row] as number, oldest)
    log[row] = logAge
    if (failed[row] !== 1) continue
    const stands = count ? (count[row] as number) : 1
    failures += stands
    sumLogFailed += stands * logAge
  }
  return {
    log,
    failed,
    weight: count ? Float64Array.from(count) : null,
    entryLog: entry ? Float64Array.from(entry, (age) => logOfRatio(age, oldest)) : null,
    parts,
    failures,
    sumLogFailed,
    logOldest: Math.log(oldest),
    failureBeforeOldest: sumLogFailed < 0,
  }
}
