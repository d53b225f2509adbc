/**
 * What should be said when, by the plainest means: every minute of the time is looked at, wall clocks are read off a
 * table of the zone's offsets. Written apart from what it judges, of which it uses nothing.
 */
import { Temporal } from 'temporal-polyfill'

export interface OraclePerson {
  id: string
  administrator: boolean
  takesMail: boolean
  unwanted: string[]
  leadDays: number
  weekday: number | null
  time: string | null
  quietFrom: string | null
  quietTo: string | null
  away: { from: string; to: string; cover: string | null } | null
}
export interface OracleReminder {
  id: string
  personId: string
  kind: string
  urgent: boolean
  sayOn: string
  earliestOn: string
  /** Minute, since 1970, from which it is there. */
  from: number
}
export interface OracleWorld {
  zone: string
  /** By ISO weekday: 'HH:mm' to 'HH:mm' or '24:00'. */
  week: Record<number, [string, string] | undefined>
  closed: string[]
  first: string
  second: string
  people: OraclePerson[]
  reminders: OracleReminder[]
  firstDay: string
  days: number
}

const minuteOf = (time: string): number => Number(time.slice(0, 2)) * 60 + Number(time.slice(3))
const plus = (day: string, days: number): string => new Date(Date.parse(`${day}T00:00:00Z`) + days * 86_400_000).toISOString().slice(0, 10)

const offsets = new Map<string, Map<number, number>>()
/** Offset in minutes at a minute since 1970; clocks change on quarter hours of UTC in all these years. */
function offsetAt(zone: string, minute: number): number {
  const known = offsets.get(zone) ?? new Map<number, number>()
  offsets.set(zone, known)
  const quarter = Math.floor(minute / 15)
  let found = known.get(quarter)
  if (found === undefined) {
    found = Temporal.Instant.fromEpochMilliseconds(quarter * 900_000).toZonedDateTimeISO(zone).offsetNanoseconds / 6e10
    known.set(quarter, found)
  }
  return found
}
const localOf = (zone: string, minute: number): number => minute + offsetAt(zone, minute)
const dayOfLocal = (local: number): string => new Date(local * 60_000).toISOString().slice(0, 10)

const walls = new Map<string, number>()
/** The first minute at which clocks show that; in a gap, as far after its begin as the wall time is. */
function wall(zone: string, day: string, time: string): number {
  const key = `${zone} ${day} ${time}`
  const known = walls.get(key) ?? findWall(zone, day, time)
  walls.set(key, known)
  return known
}

function findWall(zone: string, day: string, time: string): number {
  const asked = Date.parse(`${day}T00:00:00Z`) / 60_000 + minuteOf(time)
  // Only the minutes that some offset of these two days could mean.
  const nearby = [offsetAt(zone, asked - 1440), offsetAt(zone, asked + 1440)]
  const from = asked - Math.max(...nearby) - 130
  const to = asked - Math.min(...nearby) + 130
  let before = from
  for (let minute = from; minute < to; minute++) {
    const local = localOf(zone, minute)
    if (local === asked) return minute
    if (local < asked && localOf(zone, minute + 1) > asked) before = minute
  }
  return before + (asked - localOf(zone, before))
}

const isoWeekday = (day: string): number => new Date(`${day}T00:00:00Z`).getUTCDay() || 7

function allowedMinutes(world: OracleWorld, person: OraclePerson, day: string): Set<number> {
  const { zone } = world
  const [begin, end] = workMinutes(world, day)!
  const work = Array.from({ length: end - begin }, (_, index) => begin + index)
  const { quietFrom: quietBegin, quietTo: quietEnd } = person
  const quietParts =
    quietBegin === null || quietEnd === null
      ? []
      : [plus(day, -1), day].map((base) => {
          const endDay = minuteOf(quietEnd) < minuteOf(quietBegin) ? plus(base, 1) : base
          return [wall(zone, base, quietBegin), wall(zone, endDay, quietEnd)] as const
        })
  const loud = work.filter((minute) => !quietParts.some(([begins, ends]) => minute >= begins && minute < ends))
  if (loud.length === 0) return new Set(work)
  if (person.time === null) return new Set(loud)
  const asked = wall(zone, day, person.time)
  const later = loud.filter((minute) => minute >= asked)
  return new Set(asked > begin && asked < end && later.length > 0 ? later : loud)
}

const isWorkDay = (world: OracleWorld, day: string): boolean => world.week[isoWeekday(day)] !== undefined && !world.closed.includes(day)

function workMinutes(world: OracleWorld, day: string): [number, number] | null {
  const shift = world.week[isoWeekday(day)]
  if (!shift || world.closed.includes(day)) return null
  return [
    wall(world.zone, day, shift[0]),
    wall(world.zone, shift[1] === '24:00' ? plus(day, 1) : day, shift[1] === '24:00' ? '00:00' : shift[1]),
  ]
}

/** Who hears: asked for a day. 'nothing': it falls away. */
function hearer(world: OracleWorld, { personId, kind, urgent }: OracleReminder, day: string): OraclePerson | 'nothing' | null {
  const by = (id: string): OraclePerson => world.people.find((person) => person.id === id)!
  const away = (person: OraclePerson): boolean => person.away !== null && person.away.from <= day && day <= person.away.to
  const own = by(personId)
  const line: OraclePerson[] = []
  let at = own
  for (let step = 0; step < world.people.length && away(at) && at.away!.cover !== null; step++) {
    at = by(at.away!.cover)
    line.push(at)
  }
  line.push(by(world.first), by(world.second), ...world.people.filter(({ administrator }) => administrator))
  const others = line.filter((person) => person !== own)
  const choose = (can: (person: OraclePerson) => boolean): OraclePerson | null => {
    if (can(own) && !away(own)) return own
    const able = others.filter(can)
    return able.find((person) => !away(person)) ?? (can(own) ? own : (able[0] ?? null))
  }
  if (urgent) return choose(() => true)
  const light = ['coming_due', 'work_orders', 'parts'].includes(kind)
  if (!light) return choose((person) => person.takesMail && !person.unwanted.includes(kind)) ?? choose((person) => person.takesMail)
  const chosen = choose((person) => person.takesMail)
  return chosen?.unwanted.includes(kind) ? 'nothing' : chosen
}

/** Every message, as 'minute person digest|urgent reminders', in order. */
export function oracleMessages(world: OracleWorld): string[] {
  const said = new Set<string>()
  const lastDigest = new Map<string, string>()
  const messages: string[] = []
  // Weeks before the first day, so that each person's last digest day is known.
  const digestDay = new Map<string, string>()
  const owed = new Set<string>()
  for (let index = -30; index < world.days; index++) {
    const day = plus(world.firstDay, index)
    const work = index < 0 ? isWorkDay(world, day) : workMinutes(world, day)
    for (const person of world.people) {
      if (person.weekday === isoWeekday(day)) owed.add(person.id)
      if (work && owed.delete(person.id)) digestDay.set(person.id, day)
    }
    if (index < 0 || !work || work === true) continue
    // Who hears of it does not change within a day.
    const hears = new Map(world.reminders.map((reminder) => [reminder.id, hearer(world, reminder, day)]))
    const allowed = new Map(world.people.map((person) => [person.id, allowedMinutes(world, person, day)]))
    for (let minute = work[0]; minute < work[1]; minute++) {
      const now = new Map<string, string[]>()
      for (const reminder of world.reminders) {
        if (said.has(reminder.id) || reminder.from > minute || reminder.sayOn > day) continue
        const person = hears.get(reminder.id) ?? null
        if (person === 'nothing') said.add(reminder.id)
        if (person === null || person === 'nothing') continue
        if (!reminder.urgent) {
          if (!allowed.get(person.id)!.has(minute) || lastDigest.get(person.id) === day) continue
          const own = reminder.kind === 'coming_due' ? plus(reminder.earliestOn, -person.leadDays) : reminder.sayOn
          const sayOn = own > reminder.sayOn ? own : reminder.sayOn
          if (sayOn > day) continue
          if (person.weekday !== null) {
            const theirs = digestDay.get(person.id)!
            if (theirs !== day && (sayOn > theirs || (lastDigest.get(person.id) ?? '') >= theirs)) continue
          }
        }
        const key = `${person.id} ${reminder.urgent ? 'urgent' : 'digest'}`
        now.set(key, [...(now.get(key) ?? []), reminder.id])
      }
      for (const [key, ids] of [...now].sort(([left], [right]) => left.localeCompare(right))) {
        messages.push(`${minute} ${key} ${ids.sort().join(',')}`)
        for (const id of ids) said.add(id)
        const [personId, kind] = key.split(' ') as [string, string]
        if (kind === 'digest') lastDigest.set(personId, day)
      }
      if (said.size === world.reminders.length) return messages
    }
  }
  return messages
}

export { dayOfLocal, localOf }
