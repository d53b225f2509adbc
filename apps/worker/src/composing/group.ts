import { dayAfter, digestOpenSince, type MailKind, type WarehouseHours } from '@tapewarden/messaging'
import type { ReminderStage } from '@tapewarden/shared'
import { kindOfStage, mayFallAway } from './kinds.js'
import { canHave, type Person, recipientOf, type WarehouseOffice } from './recipients.js'

export interface UnsaidReminder {
  id: string
  personId: string
  stage: ReminderStage
  class: 'digest' | 'urgent'
  sayOn: string
  /** Earliest likely day; 'coming due' waits for a person's own lead before it. */
  earliestOn: string
}

/** A work order of which its technician has not been told. */
export interface UntoldOrder {
  id: string
  personId: string
}

export interface UncertainMessage {
  id: string
  personId: string
}

/** One message to be: whose, of which kind, with which reminders and which uncertain earlier messages. */
export interface MessageToBe {
  personId: string
  class: 'digest' | 'urgent'
  kind: MailKind
  reminderIds: string[]
  foldedIds: string[]
  /** Work orders issued to the person. */
  orderIds: string[]
  /** Parts to order of which nobody has been told. */
  partIds: string[]
  /** Whose mail no longer arrives, where this message says so. */
  insteadOfId: string | null
  /** Since when it could have been made. */
  since: Date
}

/** The moment of composing, and what went before. */
export interface ComposingMoment {
  hours: WarehouseHours
  now: Date
  /** Local day in the warehouse. */
  today: string
  /** Since when the working hours hold. */
  openSince: Date
  /** By person: local day of the last digest, and whether more can still be put into it. */
  digests: ReadonlyMap<string, { day: string; open: boolean }>
  /** 'recipient person': who has been told that they stand in for someone whose mail no longer arrives. */
  handedOver: ReadonlySet<string>
}

export interface Grouped {
  messages: MessageToBe[]
  /** Reminders for which nobody can have mail. */
  nobody: number
  /** Reminders that wait for their person's hour, day or lead. */
  waiting: number
  /** Reminders of a kind that their person does not want and that nobody else has to hear. */
  unwantedIds: string[]
}

/** The few named causes of urgent mail; whatever else is marked urgent goes into the digest. */
function mailKindOf(reminder: UnsaidReminder): MailKind {
  if (reminder.class !== 'urgent') return 'digest'
  if (reminder.stage === 'hard_limit_tomorrow') return 'hard_limit'
  return reminder.stage === 'safety_finding' ? 'safety_finding' : 'digest'
}

/** Who hears of it: who wants this kind, else anyone who takes digests, so that a wish makes nothing fall away. */
function recipientFor({ personId, stage }: UnsaidReminder, urgent: boolean, office: WarehouseOffice): Person | 'unwanted' | null {
  if (urgent) return recipientOf(personId, 'urgent', office)
  const kind = kindOfStage(stage)
  if (!mayFallAway(kind)) return recipientOf(personId, kind, office) ?? recipientOf(personId, 'digest', office)
  const recipient = recipientOf(personId, 'digest', office)
  return recipient?.unwanted.includes(kind) ? 'unwanted' : recipient
}

class Groups {
  readonly found = new Map<string, MessageToBe>()

  add(person: Person, kind: MailKind, since: Date, insteadOfId: string | null = null): MessageToBe {
    const key = `${person.id} ${kind} ${insteadOfId ?? ''}`
    const group = this.found.get(key) ?? {
      personId: person.id,
      class: kind === 'digest' ? 'digest' : 'urgent',
      kind,
      reminderIds: [],
      foldedIds: [],
      orderIds: [],
      partIds: [],
      insteadOfId,
      since,
    }
    this.found.set(key, group)
    return group
  }
}

/** Since when a recipient's digest may hold something; asked once a person and day to say, as many reminders share it. */
class DigestTimes {
  private readonly known = new Map<string, Date | null>()

  constructor(private readonly moment: ComposingMoment) {}

  since(person: Person, sayOn: string, weekday = person.wishes.digestWeekday): Date | null {
    const key = `${person.id} ${weekday ?? ''} ${weekday === null ? '' : sayOn}`
    const known = this.known.get(key)
    if (known !== undefined) return known
    const { digests, today, hours, now } = this.moment
    const last = digests.get(person.id)
    const full = last?.day === today && !last.open
    const waiting = { sayOn, lastDigestDay: last?.day ?? null }
    const since = full ? null : digestOpenSince(hours, { ...person.wishes, digestWeekday: weekday }, now, waiting)
    this.known.set(key, since)
    return since
  }
}

function sayOnFor({ stage, sayOn, earliestOn }: UnsaidReminder, { leadDays }: Person): string {
  if (stage !== 'coming_due') return sayOn
  const own = dayAfter(earliestOn, -leadDays)
  return own > sayOn ? own : sayOn
}

/** The second person is told at once and by name, the first time; afterwards it stands in their digest. */
function handOvers(groups: Groups, office: WarehouseOffice, moment: ComposingMoment): void {
  for (const id of [office.firstPersonId, office.secondPersonId]) {
    const person = id === null ? undefined : office.people.get(id)
    if (!person?.refused) continue
    const other = recipientOf(person.id, 'urgent', office)
    if (other && !moment.handedOver.has(`${other.id} ${person.id}`)) groups.add(other, 'hand_over', moment.openSince, person.id)
  }
}

/**
 * What is to be said now, to whom: at most one digest a person, one urgent mail a person and cause.
 * Pure: the same rows and the same moment give the same messages.
 */
export function groupReminders(
  reminders: readonly UnsaidReminder[],
  uncertain: readonly UncertainMessage[],
  office: WarehouseOffice,
  moment: ComposingMoment,
  orders: readonly UntoldOrder[] = [],
  partIds: readonly string[] = [],
): Grouped {
  const groups = new Groups()
  const times = new DigestTimes(moment)
  const grouped: Omit<Grouped, 'messages'> = { nobody: 0, waiting: 0, unwantedIds: [] }
  const handsOver = (from: string, to: string) =>
    from !== to && office.people.get(from)?.refused === true && !moment.handedOver.has(`${to} ${from}`)
  handOvers(groups, office, moment)
  for (const reminder of reminders) {
    const kind = mailKindOf(reminder)
    const recipient = recipientFor(reminder, kind !== 'digest', office)
    if (recipient === null) grouped.nobody += 1
    else if (recipient === 'unwanted') grouped.unwantedIds.push(reminder.id)
    else if (handsOver(reminder.personId, recipient.id))
      groups.add(recipient, 'hand_over', moment.openSince, reminder.personId).reminderIds.push(reminder.id)
    else if (kind !== 'digest') groups.add(recipient, kind, moment.openSince).reminderIds.push(reminder.id)
    else {
      const sayOn = sayOnFor(reminder, recipient)
      const since = sayOn > moment.today ? null : times.since(recipient, sayOn)
      if (since) groups.add(recipient, 'digest', since).reminderIds.push(reminder.id)
      else grouped.waiting += 1
    }
  }
  for (const message of uncertain) {
    const recipient = recipientOf(message.personId, 'digest', office)
    // On the next working day, whichever day of the week is the person's own.
    const since = recipient && times.since(recipient, moment.today, null)
    if (recipient && since) groups.add(recipient, 'digest', since).foldedIds.push(message.id)
  }
  for (const order of orders) {
    const person = office.people.get(order.personId)
    // It stands on the phone in any case: nobody else is told, and who is away hears of it when back.
    const since = person && !person.away && canHave(person, 'work_orders', office) ? times.since(person, moment.today) : null
    if (person && since) groups.add(person, 'digest', since).orderIds.push(order.id)
  }
  // One person orders: the first named, or who stands in; the others see it where they have a digest anyhow.
  const orderer = partIds.length > 0 && office.firstPersonId !== null ? recipientOf(office.firstPersonId, 'parts', office) : null
  const since = orderer && times.since(orderer, moment.today)
  if (orderer && since) groups.add(orderer, 'digest', since).partIds.push(...partIds)
  return { messages: [...groups.found.values()], ...grouped }
}
