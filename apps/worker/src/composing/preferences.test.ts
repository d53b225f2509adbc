/** 2 000 random sets of preferences, across changes of clocks, against an oracle that looks at every minute. */
import { describe, expect, it, jest } from '@jest/globals'
import { digestSpans, localMoment, nextDigestAt, type WarehouseHours, workingSpan } from '@tapewarden/messaging'
import type { DigestKind, ReminderStage } from '@tapewarden/shared'
import { Temporal } from 'temporal-polyfill'
import { oracleMessages, type OraclePerson, type OracleReminder, type OracleWorld } from '../../../../tests/support/mail-oracle.js'
import { groupReminders, type UnsaidReminder } from './group.js'
import { kindOfStage, mayFallAway } from './kinds.js'
import type { Person, WarehouseOffice } from './recipients.js'

jest.setTimeout(900_000)

const CASES = 2000
/** With changes at midnight, of half an hour, of two hours, backwards in summer, and none. */
const ZONES = [
  'Europe/Berlin',
  'America/New_York',
  'Australia/Lord_Howe',
  'Pacific/Chatham',
  'America/St_Johns',
  'Africa/Casablanca',
  'Asia/Beirut',
  'America/Santiago',
  'Africa/Cairo',
  'America/Havana',
  'Antarctica/Troll',
  'Europe/Dublin',
  'Atlantic/Azores',
  'Asia/Kolkata',
  'UTC',
]
const STAGES: ReminderStage[] = ['coming_due', 'due', 'late', 'passed_on_1', 'month_list', 'earlier_than_said', 'past_hard_limit']
const KINDS: DigestKind[] = ['coming_due', 'due', 'late', 'passed_on', 'month_list', 'work_orders', 'parts']

type Random = () => number
/** Mulberry32: a failing case is found again by its number. */
function randomOf(seed: number): Random {
  let state = seed
  return () => {
    state = (state + 0x6d2b79f5) | 0
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state)
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296
  }
}
const plus = (day: string, days: number) => Temporal.PlainDate.from(day).add({ days }).toString()
const pick = <One>(random: Random, of: readonly One[]): One => of[Math.floor(random() * of.length)] as One
const timeOf = (random: Random): string => `${String(Math.floor(random() * 24)).padStart(2, '0')}:${pick(random, ['00', '15', '30', '47'])}`

function firstDayOf(random: Random, zone: string): string {
  const at = Temporal.Instant.fromEpochMilliseconds(Date.UTC(2026, 0, 5) + Math.floor(random() * 1000) * 86_400_000).toZonedDateTimeISO(
    zone,
  )
  const change = at.getTimeZoneTransition('next')
  return (random() < 0.7 && change ? change.subtract({ hours: 24 * Math.floor(1 + random() * 4) }) : at).toPlainDate().toString()
}

function personOf(random: Random, id: string, firstDay: string, ids: string[]): OraclePerson {
  const quietFrom = random() < 0.5 ? timeOf(random) : null
  const quietTo = quietFrom === null ? null : timeOf(random)
  const from = plus(firstDay, Math.floor(random() * 6))
  const cover =
    random() < 0.5
      ? pick(
          random,
          ids.filter((other) => other !== id),
        )
      : null
  return {
    id,
    administrator: id === 'c',
    takesMail: random() < 0.85,
    unwanted: KINDS.filter(() => random() < 0.2),
    leadDays: Math.floor(random() * 10),
    weekday: random() < 0.35 ? 1 + Math.floor(random() * 7) : null,
    time: random() < 0.6 ? timeOf(random) : null,
    quietFrom: quietFrom === quietTo ? null : quietFrom,
    quietTo: quietFrom === quietTo ? null : quietTo,
    away: random() < 0.25 ? { from, to: plus(from, Math.floor(random() * 4)), cover } : null,
  }
}

function worldOf(seed: number): OracleWorld & { stages: Map<string, ReminderStage> } {
  const random = randomOf(seed)
  const zone = pick(random, ZONES)
  const firstDay = firstDayOf(random, zone)
  const night = random() < 0.4
  const shift = (): [string, string] => {
    const starts = night ? pick(random, ['00:00', '01:30', '02:00', '02:30', '22:00']) : pick(random, ['06:00', '07:30', '08:00'])
    return [
      starts,
      night
        ? pick(random, starts === '22:00' ? ['24:00', '23:30'] : ['04:00', '08:00', '24:00'])
        : pick(random, ['14:00', '17:15', '24:00']),
    ]
  }
  const week = Object.fromEntries([1, 2, 3, 4, 5, 6, 7].map((day) => [day, random() < (day > 5 ? 0.3 : 0.9) ? shift() : undefined]))
  if (Object.values(week).every((one) => one === undefined)) week[3] = shift()
  const closed = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9].map((index) => plus(firstDay, index)).filter(() => random() < 0.1)
  const people = ['a', 'b', 'c'].map((id) => personOf(random, id, firstDay, ['a', 'b', 'c']))
  const begin = Temporal.PlainDate.from(firstDay).toZonedDateTime(zone).epochMilliseconds / 60_000
  const stages = new Map<string, ReminderStage>()
  const reminders: OracleReminder[] = Array.from({ length: 8 }, (_, index) => {
    const id = `r${index}`
    const urgent = random() < 0.12
    const stage = urgent ? 'safety_finding' : pick(random, STAGES)
    stages.set(id, stage)
    const from = Math.floor(begin + random() * 6 * 1440)
    const day = Temporal.Instant.fromEpochMilliseconds(from * 60_000)
      .toZonedDateTimeISO(zone)
      .toPlainDate()
      .toString()
    const sayOn = plus(day, Math.floor(random() * 3))
    return {
      id,
      personId: pick(random, ['a', 'b']),
      kind: kindOfStage(stage),
      urgent,
      sayOn,
      earliestOn: plus(sayOn, Math.floor(random() * 9)),
      from,
    }
  })
  return { zone, week, closed, first: 'a', second: 'b', people, reminders, firstDay, days: 12, stages }
}

function officeOn(world: OracleWorld, day: string): WarehouseOffice {
  const people = world.people.map((one): Person => {
    const away = one.away !== null && one.away.from <= day && day <= one.away.to
    return {
      id: one.id,
      name: one.id,
      email: `${one.id}@example.org`,
      role: one.administrator ? 'administrator' : 'technician',
      disabled: false,
      reminderMail: one.takesMail,
      refused: false,
      away,
      coverId: away ? one.away!.cover : null,
      unwanted: one.unwanted as DigestKind[],
      leadDays: one.leadDays,
      wishes: { digestWeekday: one.weekday, digestTime: one.time, quietFrom: one.quietFrom, quietTo: one.quietTo },
    }
  })
  return {
    firstPersonId: world.first,
    secondPersonId: world.second,
    people: new Map(people.map((one) => [one.id, one])),
    reachable: () => true,
  }
}

function hoursOf({ zone, week, closed }: OracleWorld): WarehouseHours {
  const shifts = Object.entries(week).flatMap(([weekday, shift]) =>
    shift ? [{ weekday: Number(weekday), starts: shift[0], ends: shift[1] === '24:00' ? '00:00' : shift[1] }] : [],
  )
  return { zone, shifts, closures: closed.map((day) => ({ from: day, to: day })) }
}

/** Minutes at which something may begin, and some at which nothing should. */
function minutesToTry(world: OracleWorld, hours: WarehouseHours, random: Random): number[] {
  const found = new Set<number>(world.reminders.map(({ from }) => from))
  for (let index = 0; index < world.days; index++) {
    const day = plus(world.firstDay, index)
    const work = workingSpan(hours, day)
    if (!work) continue
    found.add(work.from / 60_000)
    for (let extra = 0; extra < 4; extra++) found.add(Math.floor((work.from + random() * (work.to - work.from)) / 60_000))
    for (const { wishes } of officeOn(world, day).people.values())
      for (const { from } of digestSpans(hours, wishes, day)) found.add(from / 60_000)
  }
  return [...found].sort((left, right) => left - right)
}

function ourMessages(world: ReturnType<typeof worldOf>, seed: number): string[] {
  const hours = hoursOf(world)
  const digests = new Map<string, { day: string; open: boolean }>()
  const said = new Set<string>()
  const messages: string[] = []
  for (const minute of minutesToTry(world, hours, randomOf(seed + 1_000_000))) {
    const now = new Date(minute * 60_000)
    const { today, minutesOpen } = localMoment(hours, now)
    if (minutesOpen === null || today >= plus(world.firstDay, world.days)) continue
    const unsaid = world.reminders
      .filter(({ id, from, sayOn }) => !said.has(id) && from <= minute && sayOn <= today)
      .map(({ id, personId, urgent, sayOn, earliestOn }): UnsaidReminder => {
        return { id, personId, sayOn, earliestOn, stage: world.stages.get(id)!, class: urgent ? 'urgent' : 'digest' }
      })
    if (unsaid.length === 0) continue
    const moment = { hours, now, today, openSince: now, digests, handedOver: new Set<string>() }
    const { messages: made, unwantedIds } = groupReminders(unsaid, [], officeOn(world, today), moment)
    for (const id of unwantedIds) said.add(id)
    for (const { personId, class: kind, reminderIds } of [...made].sort((left, right) =>
      `${left.personId} ${left.class}`.localeCompare(`${right.personId} ${right.class}`),
    )) {
      messages.push(`${minute} ${personId} ${kind} ${[...reminderIds].sort().join(',')}`)
      for (const id of reminderIds) said.add(id)
      if (kind === 'digest') digests.set(personId, { day: today, open: false })
    }
  }
  return messages
}

describe('preferences', () => {
  it(`${CASES} random sets give the same messages at the same minute as a walk over every minute`, () => {
    let messages = 0
    const differences: string[] = []
    for (let seed = 1; seed <= CASES; seed++) {
      const world = worldOf(seed)
      const expected = oracleMessages(world)
      messages += expected.length
      const ours = ourMessages(world, seed)
      if (ours.join('\n') !== expected.join('\n')) differences.push(`case ${seed}:\n${ours.join('\n')}\n---\n${expected.join('\n')}`)
    }
    expect(differences.slice(0, 3)).toEqual([])
    expect(messages).toBeGreaterThan(CASES * 2)
  })

  it('name every kind that announces only, and say when the next digest can go', () => {
    expect(KINDS.filter(mayFallAway)).toEqual(['coming_due', 'work_orders', 'parts'])
    const hours = {
      zone: 'Europe/Berlin',
      shifts: [1, 2, 3, 4, 5].map((weekday) => ({ weekday, starts: '06:00', ends: '14:00' })),
      closures: [{ from: '2026-03-30', to: '2026-03-30' }],
    }
    const wishes = { digestWeekday: 1, digestTime: '09:30', quietFrom: '09:00', quietTo: '10:00' }
    const at = (lastDigestDay: string | null, sayOn = '2026-03-27') =>
      nextDigestAt(hours, wishes, new Date('2026-03-27T09:00:00Z'), { sayOn, lastDigestDay })?.toISOString()
    // Monday 30 March is closed, so Tuesday at 10:00, after the quiet hour, summer time (UTC+2).
    expect(at('2026-03-23')).toBe('2026-03-31T08:00:00.000Z')
    expect(at(null)).toBe('2026-03-31T08:00:00.000Z')
    // Was to be said on Monday 23 and was not: still today, Friday.
    expect(at('2026-03-16', '2026-03-20')).toBe('2026-03-27T09:00:00.000Z')
  })
})
