import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { groupReminders } from './group.js'
import { type Person, recipientOf, type WarehouseOffice } from './recipients.js'

const person = (id: string, more: Partial<Person> = {}): Person => ({
  id,
  name: id,
  email: `${id}@example.org`,
  role: 'technician',
  disabled: false,
  reminderMail: true,
  refused: false,
  away: false,
  coverId: null,
  unwanted: [],
  leadDays: 7,
  wishes: { digestWeekday: null, digestTime: null, quietFrom: null, quietTo: null },
  ...more,
})
const office = (people: Person[], first: string | null = 'first', second: string | null = 'second'): WarehouseOffice => ({
  firstPersonId: first,
  secondPersonId: second,
  people: new Map(people.map((one) => [one.id, one])),
  reachable: (email) => email.includes('@'),
})
const who = (id: string, people: Person[], urgent = false) => recipientOf(id, urgent ? 'urgent' : 'digest', office(people))?.id ?? null

describe('who a reminder goes to', () => {
  it('is the person, else the cover, else the cover’s cover, else the other named person', () => {
    expect(who('first', [person('first'), person('second')])).toBe('first')
    expect(who('first', [person('first', { away: true, coverId: 'c' }), person('second'), person('c')])).toBe('c')
    const chain = [person('first', { away: true, coverId: 'c' }), person('second'), person('c', { away: true, coverId: 'd' }), person('d')]
    expect(who('first', chain)).toBe('d')
    expect(who('first', [person('first', { away: true }), person('second')])).toBe('second')
  })

  it('is the person though away where nobody else is there, and two who cover each other end', () => {
    expect(who('first', [person('first', { away: true })])).toBe('first')
    expect(who('first', [person('first', { away: true, coverId: 'second' }), person('second', { away: true, coverId: 'first' })])).toBe(
      'first',
    )
  })

  it('is an administrator where the named people can have no mail, and nobody where nobody can', () => {
    const silent = [person('first', { email: null }), person('second', { disabled: true })]
    expect(who('first', [...silent, person('a', { role: 'administrator' })])).toBe('a')
    expect(who('first', silent)).toBeNull()
  })

  it('is asked for urgent mail even where reminder mail is off', () => {
    const off = [person('first', { reminderMail: false }), person('second')]
    expect([who('first', off), who('first', off, true)]).toEqual(['second', 'first'])
  })

  it('can always have mail, and is someone wherever anyone named, covering or administrating can', () => {
    const some = fc.record({
      away: fc.boolean(),
      disabled: fc.boolean(),
      reminderMail: fc.boolean(),
      hasEmail: fc.boolean(),
      cover: fc.option(fc.integer({ min: 0, max: 4 })),
    })
    fc.assert(
      fc.property(fc.array(some, { minLength: 5, maxLength: 5 }), fc.boolean(), (given, urgent) => {
        const names = ['first', 'second', 'c', 'd', 'e']
        const people = given.map(({ hasEmail, cover, ...more }, index) =>
          person(names[index] as string, {
            ...more,
            email: hasEmail ? 'x@example.org' : null,
            coverId: cover === null ? null : (names[cover] as string),
          }),
        )
        const can = ({ disabled, email, reminderMail }: Person) => !disabled && email !== null && (urgent || reminderMail)
        const found = recipientOf('first', urgent ? 'urgent' : 'digest', office(people))
        if (found) expect(can(found)).toBe(true)
        else expect(people.slice(0, 2).some(can)).toBe(false)
      }),
    )
  })
})

describe('messages to be', () => {
  it('hold every reminder that somebody can have exactly once; one digest a person', () => {
    const people = [person('first'), person('second', { away: true, coverId: 'first' })]
    const reminders = ['first', 'second', 'first'].map((personId, index) => ({
      id: `r${index}`,
      personId,
      stage: 'due' as const,
      class: 'digest' as const,
      sayOn: '2026-03-03',
      earliestOn: '2026-03-05',
    }))
    const openSince = new Date('2026-03-03T08:00:00Z')
    const { messages, nobody } = groupReminders(reminders, [{ id: 'm', personId: 'second' }], office(people), {
      hours: { zone: 'UTC', shifts: [], closures: [] },
      now: new Date('2026-03-03T10:00:00Z'),
      today: '2026-03-03',
      openSince,
      digests: new Map(),
      handedOver: new Set(),
    })
    expect(nobody).toBe(0)
    expect(messages).toEqual([
      {
        personId: 'first',
        class: 'digest',
        kind: 'digest',
        reminderIds: ['r0', 'r1', 'r2'],
        foldedIds: ['m'],
        orderIds: [],
        partIds: [],
        insteadOfId: null,
        since: openSince,
      },
    ])
  })
})
