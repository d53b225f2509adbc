import type { Reading } from './work.js'

const formats = new Map<string, Intl.DateTimeFormat>()

/** The local date at an instant: 'YYYY-MM-DD' on the wall calendar of the zone. */
export function localDateOf(instant: Date, zone: string): string {
  let format = formats.get(zone)
  if (!format) {
    format = new Intl.DateTimeFormat('en-CA', { timeZone: zone, year: 'numeric', month: '2-digit', day: '2-digit' })
    formats.set(zone, format)
  }
  return format.format(instant)
}

/** Today's date where the day begins last (UTC−12): what holds from it holds everywhere by now. */
export const todayWhereItIsEarliest = (now: Date): string => localDateOf(now, 'Etc/GMT+12')

/** The earliest of the warehouses' local dates; without a warehouse, the date by UTC. */
export async function earliestToday(reading: Reading): Promise<string> {
  const zones = await reading.rows<{ zone: string }>('SELECT DISTINCT zone FROM warehouse WHERE organisation_id = $1', [])
  const dates = zones.map(({ zone }) => localDateOf(reading.now, zone)).sort()
  return dates[0] ?? localDateOf(reading.now, 'UTC')
}

const DAY_MS = 86_400_000
export function addDays(date: string, days: number): string {
  return new Date(Date.parse(`${date}T00:00:00Z`) + days * DAY_MS).toISOString().slice(0, 10)
}

export function daysBetween(from: string, to: string): number {
  return Math.round((Date.parse(`${to}T00:00:00Z`) - Date.parse(`${from}T00:00:00Z`)) / DAY_MS)
}

/** ISO weekday, Monday = 1. */
export function weekdayOf(date: string): number {
  return new Date(`${date}T00:00:00Z`).getUTCDay() || 7
}

export function mondayOf(date: string): string {
  return addDays(date, 1 - weekdayOf(date))
}
