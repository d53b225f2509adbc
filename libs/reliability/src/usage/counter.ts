/** What a counter's readings say of use: roll-over, a swapped counter, the rate. */
import { InvalidInput, requireFinite, requireNotNegative, requirePositive } from '../special/errors.js'

export interface CounterReadings {
  /** In order, not falling. */
  day: readonly number[]
  reading: readonly number[]
  /** The counter starts again at 0 when it reaches this. */
  modulus?: number | undefined
  /** A new number is a new counter, fitted that day at its first reading. */
  segment?: readonly number[] | undefined
}

export interface CounterUsage {
  /** From the first reading on, never falling. */
  cumulative: number[]
  total: number
  /** Per day; null where no day passed. */
  endpointRate: number | null
  /** Least squares of cumulative on day. */
  fittedRate: number | null
  fittedRateStandardError: number | null
}

function check({ day, reading, modulus, segment }: CounterReadings): void {
  if (day.length === 0) throw new InvalidInput('day', 'must have at least one entry')
  for (const [field, list] of Object.entries({ reading, segment }))
    if (list && list.length !== day.length)
      throw new InvalidInput(field, `has ${list.length} entries but day has ${day.length}; the lists must be equally long`)
  if (modulus !== undefined) requirePositive('modulus', modulus)
  day.forEach((value, index) => {
    requireFinite(`day[${index}]`, value)
    if (index > 0 && value < (day[index - 1] as number))
      throw new InvalidInput(`day[${index}]`, 'must not lie before the day of the reading before')
  })
  reading.forEach((value, index) => {
    requireNotNegative(`reading[${index}]`, value)
    if (modulus !== undefined && value >= modulus) throw new InvalidInput(`reading[${index}]`, 'must be below modulus')
  })
}

/**
 * Use between readings of one counter, over one roll-over at most between two of them, added up across counters.
 * @throws InvalidInput where a counter without modulus runs backwards
 * @example counterUsage({ day: [0, 5], reading: [98, 3], modulus: 100 }).total // 5
 */
export function counterUsage(readings: CounterReadings): CounterUsage {
  check(readings)
  const { day, reading } = readings
  const cumulative = [reading[0] as number]
  for (let index = 1; index < reading.length; index++) cumulative.push((cumulative[index - 1] as number) + used(readings, index))
  const total = (cumulative.at(-1) as number) - (cumulative[0] as number)
  const days = (day.at(-1) as number) - (day[0] as number)
  return { cumulative, total, endpointRate: days > 0 ? total / days : null, ...fittedRate(day, cumulative) }
}

function used({ reading, modulus, segment }: CounterReadings, index: number): number {
  if (segment && segment[index] !== segment[index - 1]) return 0
  const difference = (reading[index] as number) - (reading[index - 1] as number)
  if (difference >= 0) return difference
  if (modulus !== undefined) return difference + modulus
  throw new InvalidInput(`reading[${index}]`, 'is below the reading before, and no modulus says that the counter rolls over')
}

function fittedRate(day: readonly number[], cumulative: readonly number[]): Pick<CounterUsage, 'fittedRate' | 'fittedRateStandardError'> {
  const n = day.length
  const [meanDay, mean] = [day, cumulative].map((list) => list.reduce((sum, value) => sum + value, 0) / n) as [number, number]
  const [xx, xy] = day.reduce(
    ([a, b], value, index) => {
      const d = value - meanDay
      return [a + d * d, b + d * ((cumulative[index] as number) - mean)] as [number, number]
    },
    [0, 0] as [number, number],
  )
  if (!(xx > 0)) return { fittedRate: null, fittedRateStandardError: null }
  const rate = xy / xx
  const left = day.reduce((sum, value, index) => sum + ((cumulative[index] as number) - mean - rate * (value - meanDay)) ** 2, 0)
  return { fittedRate: rate, fittedRateStandardError: n > 2 ? Math.sqrt(left / (n - 2) / xx) : null }
}
