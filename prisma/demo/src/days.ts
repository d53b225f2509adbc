/** Calendar helpers of the demo: local dates as 'YYYY-MM-DD', arithmetic in UTC so that no zone can shift them. */
const DAY_MS = 86_400_000

export const dayNumber = (date: string): number => Date.parse(`${date}T00:00:00Z`) / DAY_MS
export const dateOf = (day: number): string => new Date(day * DAY_MS).toISOString().slice(0, 10)
export const addDays = (date: string, days: number): string => dateOf(dayNumber(date) + days)
/** ISO weekday, Monday = 1. */
export const weekday = (date: string): number => ((dayNumber(date) + 3) % 7) + 1
export const monthDay = (date: string): string => date.slice(5)

export function localDate(zone: string, now: Date): string {
  return new Intl.DateTimeFormat('en-CA', { timeZone: zone, year: 'numeric', month: '2-digit', day: '2-digit' }).format(now)
}
