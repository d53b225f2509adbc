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
}

export interface WarehouseOffice {
  firstPersonId: string | null
  secondPersonId: string | null
  people: ReadonlyMap<string, Person>
  /** False for an address that no mail can go to. */
  reachable: (email: string) => boolean
}

function canHave(person: Person, urgent: boolean, office: WarehouseOffice): boolean {
  return !person.disabled && !person.refused && person.email !== null && office.reachable(person.email) && (urgent || person.reminderMail)
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
export function recipientOf(personId: string, urgent: boolean, office: WarehouseOffice): Person | null {
  const person = office.people.get(personId)
  if (!person) return null
  const own = canHave(person, urgent, office)
  if (own && !person.away) return person
  const others = standIns(person, office).filter((other) => canHave(other, urgent, office))
  return others.find((other) => !other.away) ?? (own ? person : (others[0] ?? null))
}
