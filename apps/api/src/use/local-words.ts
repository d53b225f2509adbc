/** Moments in the words of the warehouse: its own clock, its own day. Pure. */
const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec']

/** '4 Dec 2026' of a local 'YYYY-MM-DD'. */
export function sayLocalDay(day: string): string {
  const [year, month, date] = day.split('-').map(Number) as [number, number, number]
  return `${date} ${MONTHS[month - 1]} ${year}`
}

/** '4 Dec 2026, 17:00' by the clocks of the zone; on the hour that comes twice, with what it is ahead of UTC. */
export function sayLocalMoment(at: Date, zone: string): string {
  const wall = wallOf(at, zone)
  const [day = '', time = ''] = wall.split(' ')
  const twice = [-3_600_000, 3_600_000].some((ms) => wallOf(new Date(at.getTime() + ms), zone) === wall)
  return `${sayLocalDay(day)}, ${time}${twice ? ` (${offsetOf(at, zone)})` : ''}`
}

function wallOf(at: Date, zone: string): string {
  const text = new Intl.DateTimeFormat('sv-SE', {
    timeZone: zone,
    year: 'numeric',
    month: '2-digit',
    day: '2-digit',
    hour: '2-digit',
    minute: '2-digit',
    hourCycle: 'h23',
  }).format(at)
  return text.replace(',', '')
}

function offsetOf(at: Date, zone: string): string {
  const parts = new Intl.DateTimeFormat('en-GB', { timeZone: zone, timeZoneName: 'longOffset' }).formatToParts(at)
  return (parts.find(({ type }) => type === 'timeZoneName')?.value ?? 'GMT').replace('GMT', 'UTC')
}
