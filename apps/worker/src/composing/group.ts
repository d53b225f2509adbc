import type { MailKind } from '@tapewarden/messaging'
import type { ReminderStage } from '@tapewarden/shared'
import { recipientOf, type WarehouseOffice } from './recipients.js'

export interface UnsaidReminder {
  id: string
  personId: string
  stage: ReminderStage
  class: 'digest' | 'urgent'
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
  /** Whose mail no longer arrives, where this message says so. */
  insteadOfId: string | null
}

/** The few named causes of urgent mail; whatever else is marked urgent goes into the digest. */
function kindOf(reminder: UnsaidReminder): MailKind {
  if (reminder.class !== 'urgent') return 'digest'
  if (reminder.stage === 'hard_limit_tomorrow') return 'hard_limit'
  return reminder.stage === 'safety_finding' ? 'safety_finding' : 'digest'
}

export interface Grouped {
  messages: MessageToBe[]
  /** Reminders for which nobody can have mail. */
  nobody: number
}

/** At most one digest a person; one urgent mail a person and cause. */
export function groupReminders(
  reminders: readonly UnsaidReminder[],
  uncertain: readonly UncertainMessage[],
  office: WarehouseOffice,
  /** 'told for': recipients who know already that they stand in for someone whose mail no longer arrives. */
  handedOver: ReadonlySet<string> = new Set(),
): Grouped {
  const found = new Map<string, MessageToBe>()
  const groupOf = (personId: string, kind: MailKind, insteadOfId: string | null = null): MessageToBe => {
    const key = `${personId} ${kind} ${insteadOfId ?? ''}`
    const group = found.get(key) ?? {
      personId,
      class: kind === 'digest' ? 'digest' : 'urgent',
      kind,
      reminderIds: [],
      foldedIds: [],
      insteadOfId,
    }
    found.set(key, group)
    return group
  }
  // The second person is told at once and by name, the first time; afterwards it stands in their digest.
  const handsOver = (from: string, to: string) =>
    from !== to && office.people.get(from)?.refused === true && !handedOver.has(`${to} ${from}`)
  let nobody = 0
  for (const reminder of reminders) {
    const kind = kindOf(reminder)
    const recipient = recipientOf(reminder.personId, kind !== 'digest', office)
    if (!recipient) nobody += 1
    else if (handsOver(reminder.personId, recipient.id)) groupOf(recipient.id, 'hand_over', reminder.personId).reminderIds.push(reminder.id)
    else groupOf(recipient.id, kind).reminderIds.push(reminder.id)
  }
  for (const message of uncertain) {
    const recipient = recipientOf(message.personId, false, office)
    if (recipient) groupOf(recipient.id, 'digest').foldedIds.push(message.id)
  }
  return { messages: [...found.values()], nobody }
}
