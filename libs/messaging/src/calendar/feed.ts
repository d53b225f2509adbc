import type { Units } from '@tapewarden/shared'
import { languageOf, Words } from '../catalogue/words.js'
import { oneLine } from '../digest/lines.js'
import { type WholeDayEvent, writeCalendar } from './icalendar.js'

/** One occurrence, open or ended, as a feed shows it. */
export interface FeedCare {
  occurrenceId: string
  sequence: number
  /** Of the last change of its day or state, else of its opening. */
  changedAt: Date
  state: 'open' | 'done' | 'skipped' | 'superseded'
  dueOn: string
  labelCode: string
  stationName: string | null
  taskName: string
}

/** A month's small outside care of a warehouse: one event, because nobody reads a hundred a month. */
export interface FeedRound {
  /** 'YYYY-MM' */
  month: string
  /** Sum over its occurrences of one and their changes: occurrences are never deleted, so it never falls. */
  sequence: number
  changedAt: Date
  dueOn: string
  machines: number
  openMachines: number
  /** Nothing of it was or will be done. */
  cancelled: boolean
}

/** A planned visit. It can be moved or given to somebody else, not taken back. */
export interface FeedVisit {
  visitId: string
  sequence: number
  changedAt: Date
  on: string
  technician: string | null
  orders: number
  done: number
}

export interface FeedInput {
  person: { language: string; units: Units }
  warehouse: { id: string; name: string }
  today: string
  care: readonly FeedCare[]
  rounds: readonly FeedRound[]
  visits: readonly FeedVisit[]
  deskUrl: string
}

/** Big calendar programs ask every 4 to 24 hours whatever a feed says. */
const REFRESH = 'PT4H'

function careEvent(words: Words, care: FeedCare, { warehouse, deskUrl }: FeedInput): WholeDayEvent {
  const cancelled = care.state === 'superseded' || care.state === 'skipped'
  const key = cancelled ? 'calendar.cancelled' : care.state === 'done' ? 'calendar.done' : 'calendar.summary'
  const hall = oneLine(warehouse.name)
  return {
    uid: `occurrence-${care.occurrenceId}@tapewarden`,
    sequence: care.sequence,
    stamp: care.changedAt,
    changed: care.changedAt,
    on: care.dueOn,
    summary: words.say(key, { label: oneLine(care.labelCode), task: oneLine(care.taskName) }),
    description: `${words.say('calendar.view')} ${deskUrl}`,
    location: care.stationName === null ? hall : `${hall}, ${oneLine(care.stationName)}`,
    cancelled,
  }
}

function roundEvent(words: Words, round: FeedRound, { warehouse, deskUrl }: FeedInput): WholeDayEvent {
  const month = words.month(round.month)
  return {
    uid: `round-${warehouse.id}-${round.month}@tapewarden`,
    sequence: round.sequence,
    stamp: round.changedAt,
    changed: round.changedAt,
    on: round.dueOn,
    summary: round.cancelled
      ? words.say('calendar.round_cancelled', { month })
      : words.say('calendar.round', { month, count: round.machines }),
    description: `${words.say('calendar.round_open', { open: round.openMachines })} ${words.say('calendar.view')} ${deskUrl}`,
    location: oneLine(warehouse.name),
    cancelled: round.cancelled,
  }
}

function visitEvent(words: Words, visit: FeedVisit, { warehouse, deskUrl }: FeedInput): WholeDayEvent {
  const values = { name: oneLine(visit.technician ?? ''), count: visit.orders }
  return {
    uid: `visit-${visit.visitId}@tapewarden`,
    sequence: visit.sequence,
    stamp: visit.changedAt,
    changed: visit.changedAt,
    on: visit.on,
    summary: words.say(visit.technician === null ? 'calendar.visit_open' : 'calendar.visit', values),
    description: `${words.say('calendar.visit_done', { done: visit.done, count: visit.orders })} ${words.say('calendar.view')} ${deskUrl}`,
    location: oneLine(warehouse.name),
    cancelled: false,
  }
}

/** The text of a feed: whole days of the warehouse, so no zone is needed (RFC 5545, 3.3.4); instants are in UTC. */
export function writeFeed(input: FeedInput): string {
  const words = new Words(languageOf(input.person.language), input.person.units, input.today)
  return writeCalendar(
    {
      name: words.say('calendar.name', { warehouse: oneLine(input.warehouse.name) }),
      language: words.language,
      description: words.say('calendar.view'),
      refresh: REFRESH,
    },
    [
      ...input.visits.map((visit) => visitEvent(words, visit, input)),
      ...input.care.map((care) => careEvent(words, care, input)),
      ...input.rounds.map((round) => roundEvent(words, round, input)),
    ],
  )
}
