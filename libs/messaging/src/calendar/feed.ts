import type { Units } from '@tapewarden/shared'
import { languageOf, Words } from '../catalogue/words.js'
import { oneLine } from '../digest/lines.js'
import { type WholeDayEvent, writeCalendar } from './icalendar.js'

/** One occurrence, open or ended, as a feed shows it. */
export interface FeedCare {
  occurrenceId: string
  sequence: number
  changedAt: Date | null
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
  changedAt: Date | null
  dueOn: string
  machines: number
  openMachines: number
  /** Nothing of it was or will be done. */
  cancelled: boolean
}

export interface FeedInput {
  person: { language: string; units: Units }
  warehouse: { id: string; name: string }
  today: string
  now: Date
  care: readonly FeedCare[]
  rounds: readonly FeedRound[]
  deskUrl: string
}

/** Big calendar programs ask every 4 to 24 hours whatever a feed says. */
const REFRESH = 'PT4H'

function careEvent(words: Words, care: FeedCare, { warehouse, now, deskUrl }: FeedInput): WholeDayEvent {
  const cancelled = care.state === 'superseded' || care.state === 'skipped'
  const key = cancelled ? 'calendar.cancelled' : care.state === 'done' ? 'calendar.done' : 'calendar.summary'
  const hall = oneLine(warehouse.name)
  return {
    uid: `occurrence-${care.occurrenceId}@tapewarden`,
    sequence: care.sequence,
    stamp: care.changedAt ?? now,
    changed: care.changedAt,
    on: care.dueOn,
    summary: words.say(key, { label: oneLine(care.labelCode), task: oneLine(care.taskName) }),
    description: `${words.say('calendar.view')} ${deskUrl}`,
    location: care.stationName === null ? hall : `${hall}, ${oneLine(care.stationName)}`,
    cancelled,
  }
}

function roundEvent(words: Words, round: FeedRound, { warehouse, now, deskUrl }: FeedInput): WholeDayEvent {
  const month = words.month(round.month)
  return {
    uid: `round-${warehouse.id}-${round.month}@tapewarden`,
    sequence: round.sequence,
    stamp: round.changedAt ?? now,
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
    [...input.care.map((care) => careEvent(words, care, input)), ...input.rounds.map((round) => roundEvent(words, round, input))],
  )
}
