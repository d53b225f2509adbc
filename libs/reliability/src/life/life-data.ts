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
  rows: number
  log: Float64Array
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

/** @throws InvalidInput naming list and row. The data are left as they are. */
export function checkLifeData(data: LifeData): void {
  requireSameLength(data)
  for (let row = 0; row < data.time.length; row++) checkRow(data, row)
}

/** Checks and takes logs in two passes; rows of age 0 (just fitted, still good) carry nothing and weigh 0 in every sum. */
export function prepareLife(data: LifeData): PreparedLife {
  checkLifeData(data)
  const { time, failed, count, entry } = data
  const rows = time.length
  let oldest = 0
  for (let row = 0; row < rows; row++) if ((count?.[row] ?? 1) > 0 && (time[row] as number) > oldest) oldest = time[row] as number
  const log = new Float64Array(rows)
  const made: PreparedLife = {
    rows,
    log,
    weight: count ? Float64Array.from(count) : null,
    entryLog: entry ? Float64Array.from(entry, (age) => Math.log(age / oldest)) : null,
    parts: 0,
    failures: 0,
    sumLogFailed: 0,
    logOldest: Math.log(oldest),
    failureBeforeOldest: false,
  }
  for (let row = 0; row < rows; row++) {
    const logAge = Math.log((time[row] as number) / oldest)
    const parts = count?.[row] ?? 1
    log[row] = logAge
    made.parts += parts
    if (!failed[row] || parts === 0) continue
    made.failures += parts
    made.sumLogFailed += parts * logAge
    if ((time[row] as number) < oldest) made.failureBeforeOldest = true
  }
  return made
}
