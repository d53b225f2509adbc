/** What a day at a warehouse holds, and the order of the walk. Pure. */
import type { Answer } from '../client/api.js'

export type OrderLine = Answer<'listWorkOrders'>['items'][number]
type Hall = Pick<Answer<'getWarehouse'>, 'shifts' | 'closures' | 'peaks'>

export const ORDERS_OPEN = 'drafted,issued,accepted,under_way,waiting,returned'

const minutesOf = (time: string): number => Number(time.slice(0, 2)) * 60 + Number(time.slice(3, 5))
const within = (day: string, { fromDate, toDate }: { fromDate: string; toDate: string }): boolean => fromDate <= day && day <= toDate

/** Minutes of that day's shifts, and what speaks against a visit on it (rules 1 and 9). */
export function dayAnswer({ shifts, closures, peaks }: Hall, day: string): { shiftMinutes: number; warning: string | null } {
  const weekday = new Date(`${day}T00:00:00Z`).getUTCDay() || 7
  const today = shifts.filter((shift) => shift.weekday === weekday)
  const shiftMinutes = today.reduce((sum, { starts, ends }) => {
    const length = minutesOf(ends) - minutesOf(starts)
    return sum + (length > 0 ? length : length + 1440)
  }, 0)
  const closed = closures.find((closure) => within(day, closure))
  const peak = peaks.find((one) => one.bars !== 'nothing' && within(day, one))
  if (closed) return { shiftMinutes: 0, warning: `Closed on this day${closed.reason ? `: ${closed.reason}` : ''}.` }
  if (today.length === 0) return { shiftMinutes, warning: 'No shift works on this day.' }
  if (peak?.bars === 'no_visits') return { shiftMinutes, warning: `${peak.name || 'A peak'} bars visits on this day.` }
  if (peak) return { shiftMinutes, warning: `${peak.name || 'A peak'} leaves room for tasks up to 15 minutes only.` }
  return { shiftMinutes, warning: null }
}

/** By line and place in the walk; what stands at no station comes last. */
export function byWalk(a: OrderLine, b: OrderLine): number {
  const [at, bt] = [a.station?.walkingOrder ?? Infinity, b.station?.walkingOrder ?? Infinity]
  if (at !== bt) return at < bt ? -1 : 1
  return a.machine.labelCode.localeCompare(b.machine.labelCode)
}
