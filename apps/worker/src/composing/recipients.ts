import type { DigestWishes } from '@tapewarden/messaging'
import type { DigestKind } from '@tapewarden/shared'

/** Who a reminder goes to on a day: the person it is for, or who stands in for them. */
export interface Person {
  id: string
  name: string
  email: string | null
  role: string
  disabled: boolean
  /** Wants reminder mail; urgent mail comes all the same. */
  reminderMail: boolean
  /** A mail server has refused this address for good. */
  refused: boolean
  /** Away today; and who covers. */
  away: boolean
  coverId: string | null
  /** Kinds of digest lines that they can do without. */
  unwanted: readonly DigestKind[]
  /** 'Coming due' is said this many days before the earliest likely day. */
  leadDays: number
  wishes: DigestWishes
}

export interface WarehouseOffice {
  firstPersonId: string | null
  secondPersonId: string | null
  people: ReadonlyMap<string, Person>
  /** False for an address that no mail can go to. */
  reachable: (email: string) => boolean
}

/** What is to be said: an urgent mail, which nobody turned off, or a line of a digest of some kind. */
export type Said = 'urgent' | DigestKind | 'digest'

export function canHave(person: Person, said: Said, office: WarehouseOffice): boolean {
  if (person.disabled || person.refused || person.email === null || !office.reachable(person.email)) return false
  return said === 'urgent' || (person.reminderMail && !(person.unwanted as readonly Said[]).includes(said))
}

/** Cover, then the cover's cover; the warehouse's other named person; administrators. */
function standIns(person: Person, office: WarehouseOffice): Person[] {
  const found: Person[] = []
  const add = (id: string | null) => {
    const other = id === null ? undefined : office.people.get(id)
    if (other && other !== person && !found.includes(other)) found.push(other)
  }
  for (let at: Person | undefined = person; at?.away && at.coverId !== null; at = office.people.get(at.coverId)) {
    if (found.some((other) => other.id === at?.coverId)) break
    add(at.coverId)
    if (at.coverId === person.id) break
  }
  add(office.firstPersonId)
  add(office.secondPersonId)
  for (const other of office.people.values()) if (other.role === 'administrator') add(other.id)
  return found
}

/**
 * @returns null only where nobody of the organisation can have mail; such reminders wait and are counted
 * The person themself if here; else who stands in and is here; else the person though away; else anyone who stands in.
 */
export function recipientOf(personId: string, said: Said, office: WarehouseOffice): Person | null {
  const person = office.people.get(personId)
  if (!person) return null
  const own = canHave(person, said, office)
  if (own && !person.away) return person
  const others = standIns(person, office).filter((other) => canHave(other, said, office))
  return others.find((other) => !other.away) ?? (own ? person : (others[0] ?? null))
}
