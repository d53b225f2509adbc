/** Local times in the form of calendar files, and as whole numbers. */
import { InvalidInput } from '@tapewarden/reliability'
import type { Day } from '../../model.js'
import { dateOf, dayOf } from '../day.js'

export interface LocalMoment {
  day: Day
  /** Since local midnight by the clock, 0..86399. */
  second: number
}

/**
 * @param text '19970902T090000'   @param what how the message calls it
 * @returns '1997-09-02T09:00:00'
 */
export function readLocalStamp(field: string, text: string, what = ''): string {
  const [, year, month, date, hour, minute, second] = /^(\d{4})(\d\d)(\d\d)T([01]\d|2[0-3])([0-5]\d)([0-5]\d)$/.exec(text) ?? []
  const local = `${year}-${month}-${date}`
  try {
    dayOf(local)
  } catch {
    throw new InvalidInput(field, `must be a local time such as 19970902T090000${what && ` in ${what}`}; it is '${text}'`)
  }
  return `${local}T${hour}:${minute}:${second}`
}

export function momentOf(local: string): LocalMoment {
  const [hour, minute, second] = local.slice(11).split(':').map(Number) as [number, number, number]
  return { day: dayOf(local.slice(0, 10)), second: hour * 3600 + minute * 60 + second }
}

const two = (value: number): string => String(value).padStart(2, '0')

/** @returns 'YYYY-MM-DDTHH:mm:ss' */
export function localOf({ day, second }: LocalMoment): string {
  return `${dateOf(day)}T${two(Math.floor(second / 3600))}:${two(Math.floor(second / 60) % 60)}:${two(second % 60)}`
}
