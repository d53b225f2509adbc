/** The occurrences of a recurrence rule in a zone. */
import { InvalidInput } from '@tapewarden/reliability'
import { isKnownZone, localToInstant } from '../instant.js'
import { periods } from './periods.js'
import { readRule } from './read-rule.js'
import type { RecurrenceRule } from './rule.js'
import { type LocalMoment, localOf, momentOf, readLocalStamp } from './stamp.js'

const MOST = 100_000
/** Periods without an occurrence after which the search is given up: 8000 years of days are 2.9 million. */
const MOST_EMPTY = 4_000_000
const DAY_MS = 86_400_000

function choose(moments: readonly LocalMoment[], positions: readonly number[]): readonly LocalMoment[] {
  if (positions.length === 0) return moments
  const places = positions.map((position) => (position > 0 ? position - 1 : moments.length + position))
  return [...new Set(places)].sort((a, b) => a - b).flatMap((place) => moments[place] ?? [])
}

/** Local times of the rule from its start on, ascending, without regard to COUNT and UNTIL. */
export function* localOccurrences(rule: RecurrenceRule, start: LocalMoment): Generator<LocalMoment> {
  let empty = 0
  for (const moments of periods(rule, start)) {
    empty += 1
    for (const moment of choose(moments, rule.bySetPosition)) {
      if (moment.day < start.day || (moment.day === start.day && moment.second < start.second)) continue
      empty = 0
      yield moment
    }
    if (empty > MOST_EMPTY) throw new InvalidInput('rule', 'does not occur within a reasonable search')
  }
}

export interface RecurrenceAsked {
  /** '19970902T090000', local. It counts as an occurrence where it fits the rule. */
  start: string
  zone: string
  rule: string
  /** Only the first so many; needed for a rule without an end. */
  limit?: number | undefined
}

export interface Recurrence {
  /** As the rule says, 'YYYY-MM-DDTHH:mm', with seconds where they are not 0. */
  local: string[]
  /** The instants in the same order. */
  utc: string[]
}

const short = (text: string): string => text.replace(/:00(?=Z?$)/, '')

/** Whether the occurrence is still before the end; 'past' when no later one can be. */
function againstUntil({ until }: RecurrenceRule, local: string, instantMs: number): 'within' | 'beyond' | 'past' {
  if (until === null) return 'within'
  if ('local' in until) return local <= until.local ? 'within' : 'past'
  if (instantMs <= until.instantMs) return 'within'
  // Around a change of clocks a later local time may be an earlier instant.
  return instantMs > until.instantMs + DAY_MS ? 'past' : 'beyond'
}

/**
 * Occurrences of an RFC 5545 rule. Recurs on local time; a local time that occurs twice is the first, one that does not
 * exist is read with the offset before the gap (3.3.5), and is not left out (3.3.10 says both).
 * @throws InvalidInput naming start, zone, rule or limit
 */
export function recurrence({ start, zone, rule: text, limit }: RecurrenceAsked): Recurrence {
  const from = momentOf(readLocalStamp('start', start))
  if (!isKnownZone(zone)) throw new InvalidInput('zone', 'must be a known IANA time zone, such as Europe/Berlin')
  const rule = readRule(text)
  if (rule.count === null && rule.until === null && limit === undefined)
    throw new InvalidInput('limit', 'must be given for a rule without COUNT or UNTIL')
  const most = Math.min(limit ?? Infinity, rule.count ?? Infinity)
  const found: Recurrence = { local: [], utc: [] }
  if (most === 0) return found
  for (const moment of localOccurrences(rule, from)) {
    const local = localOf(moment)
    const instantMs = localToInstant(zone, local)
    const place = againstUntil(rule, local, instantMs)
    if (place === 'past') break
    if (place === 'beyond') continue
    found.local.push(short(local))
    found.utc.push(short(new Date(instantMs).toISOString().replace('.000Z', 'Z')))
    if (found.local.length >= most) break
    if (found.local.length >= MOST) throw new InvalidInput('limit', `must be given: the rule has more than ${MOST} occurrences`)
  }
  return found
}
