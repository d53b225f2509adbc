import type { Day, Told } from '@tapewarden/scheduling'

export interface PersonHere {
  personId: string
  role: string
  /** Named as one who serves this warehouse. */
  servesHere: boolean
  leadDays: number
  /** False: turned reminders off; what is due goes to the next office. */
  takesReminders: boolean
}

export interface WarehousePeople {
  firstPersonId: string | null
  secondPersonId: string | null
  /** Those who can be told: not disabled. */
  people: readonly PersonHere[]
  absences: readonly { personId: string; from: Day; to: Day; coverPersonId: string | null }[]
}

/** The people behind an office. Nobody named: the next office, so that nothing is told to no one. */
const NEXT: Readonly<Record<Told, readonly Told[]>> = {
  technician: ['first', 'second', 'manager', 'administrator'],
  first: ['second', 'manager', 'administrator'],
  second: ['first', 'manager', 'administrator'],
  manager: ['first', 'second', 'administrator'],
  administrator: ['manager', 'first', 'second'],
}

function inOffice(told: Told, here: WarehousePeople): string[] {
  const known = (id: string | null) => (id !== null && here.people.some((person) => person.personId === id) ? [id] : [])
  if (told === 'first') return known(here.firstPersonId)
  if (told === 'second') return known(here.secondPersonId)
  const holders = here.people.filter((person) => person.role === told)
  const local = holders.filter((person) => person.servesHere)
  // Technicians serve the warehouses they are named for; managers and administrators without a name serve all.
  return (local.length > 0 || told === 'technician' ? local : holders).map((person) => person.personId)
}

/** Someone away passes it to the named cover, and a cover who is away to theirs; a circle of people away ends with the first asked. */
function present(personId: string, day: Day, here: WarehousePeople): string | null {
  const asked = new Set<string>()
  for (let id = personId; !asked.has(id);) {
    asked.add(id)
    const away = here.absences.find((absence) => absence.personId === id && absence.from <= day && day <= absence.to)
    if (!away) return here.people.some((person) => person.personId === id && person.takesReminders) ? id : null
    if (away.coverPersonId === null) return null
    id = away.coverPersonId
  }
  return null
}

/** Who is told on that day; empty only where the warehouse has nobody at all. */
export function peopleFor(told: Told, day: Day, here: WarehousePeople): string[] {
  let absentees: string[] = []
  for (const office of [told, ...NEXT[told]]) {
    const holders = inOffice(office, here)
    const found = [...new Set(holders.map((id) => present(id, day, here)).filter((id) => id !== null))]
    if (found.length > 0) return found
    if (absentees.length === 0) absentees = holders
  }
  // Everybody is away without a cover: better told while away than not at all.
  return absentees
}

/** The people's lead of rule 8: the longest of the two named for the reminders. */
export function leadDaysOf(here: WarehousePeople): number {
  const named = here.people.filter((person) => person.personId === here.firstPersonId || person.personId === here.secondPersonId)
  return named.length === 0 ? DEFAULT_LEAD_DAYS : Math.max(...named.map((person) => person.leadDays))
}

/** Assumption of rule 8. */
const DEFAULT_LEAD_DAYS = 7
