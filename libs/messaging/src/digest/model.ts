import type { ReminderStage, Units } from '@tapewarden/shared'

/** One occurrence, as a mail says it. Dates are local 'YYYY-MM-DD' of the warehouse. */
export interface CareLine {
  occurrenceId: string
  /** Goes up when the occurrence is changed; the calendar file's SEQUENCE. */
  version: number
  stage: ReminderStage
  machineId: string
  labelCode: string
  stationName: string | null
  walkingOrder: number
  taskName: string
  minutes: number
  safetyCheck: boolean
  nominalOn: string
  dueOn: string
  lateFrom: string | null
  hardLimitOn: string | null
  /** Last day on which it may be done before that limit, as an urgent reminder knows it; null: not said. */
  doBy: string | null
  /** Early and late date of the forecast behind it; null where the due date is the calendar's own. */
  earlyOn: string | null
  lateOn: string | null
  /** Name of the person away for whom this is said; null: the reader's own. */
  forName: string | null
}

export interface PartLine {
  name: string
  stockCode: string
  quantity: number
  orderBy: string
}

/** A work order issued to the reader. */
export interface OrderLine {
  number: number
  labelCode: string
  stationName: string | null
  tasks: readonly string[]
  plannedOn: string | null
}

/** Whose mail no longer arrives, and how many machines go to the reader. */
export interface HandOver {
  name: string
  machines: number
}

/** Mails of a few sentences that are about the mails themselves. */
export type NoteKind = 'queue_stuck' | 'workers_silent' | 'not_in_time' | 'test_mail' | 'webhook_off' | 'sign_in_changed'
export type MailKind = 'digest' | 'hard_limit' | 'safety_finding' | 'hand_over' | NoteKind

export interface MailInput {
  kind: MailKind
  person: { name: string; language: string; units: Units }
  warehouse: { id: string; name: string }
  /** The warehouse's local day. */
  today: string
  /** The moment of composing; DTSTAMP of the calendar file. */
  now: Date
  care: readonly CareLine[]
  /** What an uncertain earlier message may have said already. */
  maybeSaid: readonly CareLine[]
  parts: readonly PartLine[]
  /** An uncertain earlier message may have told of them. */
  partsMaybeSaid?: boolean
  /** Left out: none. */
  orders?: readonly OrderLine[]
  /** What an uncertain earlier message may have told of. Left out: none. */
  maybeOrders?: readonly OrderLine[]
  handOver: HandOver | null
  round: { url: string; month: string; endsOn: string } | null
  deskUrl: string
  unsubscribeUrl: string | null
}

export type Block =
  | { kind: 'paragraph'; text: string; language?: string }
  | { kind: 'heading'; text: string }
  | { kind: 'list'; items: readonly ListItem[] }
  | { kind: 'link'; text: string; url: string }
  | { kind: 'small'; text: string }

export interface ListItem {
  text: string
  /** A second sentence that must not be overread, such as a safety line. */
  strong?: { text: string; language: string } | undefined
}

/** A mail before it is written as text and as HTML. */
export interface MailDocument {
  language: string
  subject: string
  blocks: readonly Block[]
}

export interface RenderedMail {
  subject: string
  text: string
  html: string
  /** null where nothing has a day. */
  calendarFile: string | null
}
