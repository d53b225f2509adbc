/** From what is on record of an organisation's parts to data that a fit can use without deceiving itself. */
import { InvalidInput, requireNotNegative } from '../special/errors.js'
import type { LifeData } from './life-data.js'

/** Ages in one unit (years or strips) for all records of a part type. */
export interface PartRecord {
  /** Age at removal, or today's age of a part in place. null: its installed date is not known. */
  age: number | null
  /** Age when its machine was registered; 0 for a part fitted since. */
  ageAtRegistration: number
  /** It failed. Planned and unknown removals, and parts in place, did not (as far as is known). */
  failed: boolean
  /** Removed before the machine was registered. */
  removedBeforeRegistration: boolean
}

export interface UsableRecords {
  data: LifeData
  /** Kept out because their age is not known. */
  withoutAge: number
  /** Kept out because old removals are on record only where something failed. */
  beforeRegistration: number
}

/**
 * Left truncation: a part already old when registered had to survive until then, so it enters at that age. Removals from
 * before registration were written down because the part failed; they would make life look short, so they count, from new,
 * only where the list is said to be complete.
 * @param oldListComplete whether every removal before registration, planned ones too, is on record
 */
export function usableRecords(records: readonly PartRecord[], oldListComplete: boolean): UsableRecords {
  const [time, failed, entry]: [number[], number[], number[]] = [[], [], []]
  let [withoutAge, beforeRegistration] = [0, 0]
  records.forEach((record, index) => {
    if (record.age === null) return void withoutAge++
    requireNotNegative(`records[${index}].age`, record.age)
    requireNotNegative(`records[${index}].ageAtRegistration`, record.ageAtRegistration)
    if (record.removedBeforeRegistration && !oldListComplete) return void beforeRegistration++
    const from = record.removedBeforeRegistration ? 0 : record.ageAtRegistration
    if (from > record.age) throw new InvalidInput(`records[${index}].ageAtRegistration`, 'must not be above age')
    // Registered today, or fitted and failed on the same day: nothing observed yet
    if (record.age === 0 || from === record.age) return undefined
    time.push(record.age)
    failed.push(record.failed ? 1 : 0)
    entry.push(from)
    return undefined
  })
  const truncated = entry.some((age) => age > 0)
  return { data: truncated ? { time, failed, entry } : { time, failed }, withoutAge, beforeRegistration }
}
