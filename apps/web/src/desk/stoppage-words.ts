/** A stoppage in words: its moments, how the hours treat one that is not known, where the hours go. */
import type { Answer } from '../client/api.js'
import { sayDay, sayWord } from '../ui/format.js'
import { instantsOf, wallOf } from '../ui/wall-time.js'

export type One = Answer<'getStoppage'>
type SpanKind = One['spans'][number]['kind']

/** Where the hours go, in the order in which they do. */
export const PARTS = [
  ['detection', 'detectionHours', 'until noticed'],
  ['administrative', 'administrativeHours', 'deciding'],
  ['logistic', 'logisticHours', 'waiting for parts'],
  ['technical', 'technicalHours', 'waiting for access or people'],
  ['active', 'activeHours', 'hands on'],
] as const satisfies readonly (readonly [SpanKind, keyof One['durations'], string])[]
export const PART_WORDS = Object.fromEntries(PARTS.map(([kind, , words]) => [kind, words])) as Readonly<Record<SpanKind, string>>

export const MOMENTS = [
  ['failedAt', 'Failed'],
  ['noticedAt', 'Noticed'],
  ['reportedAt', 'Told'],
  ['workBegunAt', 'Work begun'],
  ['repairedAt', 'Repaired'],
  ['checkedAt', 'Checked'],
  ['backInUseAt', 'Back in use'],
] as const
export type MomentKey = (typeof MOMENTS)[number][0]

/** What the hours make of a moment that nobody knows; as the server splits them. */
export function withoutIt(key: MomentKey, one: One): string {
  const { noticedAt, reportedAt, repairedAt, checkedAt, backInUseAt } = one
  switch (key) {
    case 'failedAt':
      return ''
    case 'noticedAt':
      return reportedAt === null ? 'taken as noticed when it failed' : 'taken as noticed when it was told'
    case 'reportedAt':
      return noticedAt === null ? 'taken as noticed when it failed' : 'the hours do not need it'
    case 'workBegunAt':
      return repairedAt === null && backInUseAt === null
        ? 'all since it was noticed counts as deciding or waiting'
        : 'taken as begun when it was noticed'
    case 'repairedAt':
      return checkedAt === null ? untilTheEnd(one) : 'hands on until it was checked'
    case 'checkedAt':
      return repairedAt === null ? untilTheEnd(one) : 'hands on until it was repaired'
    case 'backInUseAt':
      return 'still open: the hours go on'
  }
}

function untilTheEnd({ workBegunAt, backInUseAt }: One): string {
  if (backInUseAt !== null) return 'hands on until it was back in use'
  return workBegunAt === null ? 'no work is known of yet' : 'hands on up to now'
}

/** '14 Apr 2025, 08:00' by the clocks of the warehouse; in the hour that comes twice, which of the two. */
export function sayMoment(instant: string, zone: string, today: string): string {
  const wall = wallOf(instant, zone)
  const twice = instantsOf(wall, zone)
  const which = twice.length < 2 ? '' : Date.parse(instant) < Date.parse(twice[1] ?? '') ? ', the first time' : ', the second time'
  return `${sayDay(wall.slice(0, 10), today)}, ${wall.slice(11)}${which}`
}

const WAITS: Readonly<Record<string, string>> = {
  decision: 'a decision',
  part: 'a part',
  access: 'access to the machine',
  second_person: 'a second person',
  technician_travel: 'the technician’s way there',
  other: 'something else',
}
export const sayWait = (reason: string): string => WAITS[reason] ?? sayWord(reason)

const KNOWN: Readonly<Record<string, string>> = { unknown: 'not known', other_system: 'another system', other: 'something else' }
/** One of a stoppage's closed answers, as a choice in a form. */
export const sayChoice = (word: string): string => KNOWN[word] ?? sayWord(word)
