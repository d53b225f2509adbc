import { describe, expect, it } from '@jest/globals'
import { leadDaysOf, peopleFor, type WarehousePeople } from './people.js'

const person = (personId: string, role: string, servesHere = false, leadDays = 7) => ({
  personId,
  role,
  servesHere,
  leadDays,
  takesReminders: true,
})
const here: WarehousePeople = {
  firstPersonId: 'mara',
  secondPersonId: 'nils',
  people: [
    person('mara', 'manager', false, 10),
    person('nils', 'manager'),
    person('tom', 'technician', true),
    person('tia', 'technician'),
    person('ada', 'administrator'),
  ],
  absences: [
    { personId: 'mara', from: 100, to: 110, coverPersonId: 'tia' },
    { personId: 'tia', from: 105, to: 106, coverPersonId: null },
    { personId: 'nils', from: 105, to: 105, coverPersonId: 'mara' },
  ],
}

describe('who is told', () => {
  it('the people behind the office', () => {
    expect(peopleFor('first', 50, here)).toEqual(['mara'])
    expect(peopleFor('second', 50, here)).toEqual(['nils'])
    expect(peopleFor('technician', 50, here)).toEqual(['tom'])
    expect(peopleFor('manager', 50, here)).toEqual(['mara', 'nils'])
    expect(peopleFor('administrator', 50, here)).toEqual(['ada'])
  })
  it('the cover of someone away, from the first to the last day', () => {
    expect(peopleFor('first', 99, here)).toEqual(['mara'])
    expect(peopleFor('first', 100, here)).toEqual(['tia'])
    expect(peopleFor('first', 110, here)).toEqual(['tia'])
    expect(peopleFor('first', 111, here)).toEqual(['mara'])
  })
  it('the next office where nobody of this one is there', () => {
    // On day 105 the first, the cover and the second are away; both managers are these two.
    expect(peopleFor('first', 105, here)).toEqual(['ada'])
    expect(peopleFor('technician', 50, { ...here, people: here.people.filter(({ personId }) => personId !== 'tom') })).toEqual(['mara'])
  })
  it('the next office where someone has turned reminders off', () => {
    const off = { ...here, people: here.people.map((one) => ({ ...one, takesReminders: one.personId !== 'mara' })) }
    expect(peopleFor('first', 50, off)).toEqual(['nils'])
    expect(peopleFor('manager', 50, off)).toEqual(['nils'])
  })
  it('someone, even where all are away', () => {
    const alone: WarehousePeople = {
      ...here,
      people: [person('mara', 'manager')],
      absences: [{ personId: 'mara', from: 0, to: 999, coverPersonId: null }],
    }
    expect(peopleFor('technician', 5, alone)).toEqual(['mara'])
    expect(peopleFor('technician', 5, { ...alone, people: [] })).toEqual([])
  })
  it('takes the longer lead of the two people named', () => {
    expect(leadDaysOf(here)).toBe(10)
    expect(leadDaysOf({ ...here, firstPersonId: null, secondPersonId: null })).toBe(7)
  })
})
