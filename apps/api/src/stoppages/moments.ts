/** The moments of a stoppage as they may be written down: one after the other, none in the future, its waits within it. Pure. */
import { InvalidError } from '@tapewarden/platform'
import { sayLocalMoment } from '../use/local-words.js'
import type { ToldMoments } from './durations.js'

const ORDER = [
  ['failedAt', 'it failed'],
  ['noticedAt', 'it was noticed'],
  ['reportedAt', 'it was reported'],
  ['workBegunAt', 'work was begun'],
  ['repairedAt', 'it was repaired'],
  ['checkedAt', 'it was checked'],
  ['backInUseAt', 'it was back in use'],
] as const
const AHEAD_MS = 300_000
type Sent = Partial<ToldMoments>
/** By field: what is wrong with it; the first that is found. */
type Faults = Map<string, string>

/**
 * Only what was sent is judged, against all that holds then: a note can be added to a stoppage whose moments a phone told late.
 * @throws InvalidError naming every field at fault
 */
export function checkMoments(sent: Sent, known: Sent, now: Date, zone: string): void {
  const faults: Faults = new Map()
  const latest = now.getTime() + AHEAD_MS
  judgeOrder(sent, { ...known, ...sent }, latest, zone, faults)
  judgeWaits(sent.waits ?? [], { ...known, ...sent }, latest, zone, faults)
  const errors = [...faults].map(([pointer, message]) => ({ pointer, message }))
  const [first] = errors
  if (!first) return
  const code = errors.every(({ message }) => message === FUTURE) ? 'IN_THE_FUTURE' : 'MOMENTS_CROSS'
  throw new InvalidError(code, first.message, first.pointer, { errors })
}

const FUTURE = 'This lies in the future.'

function add(faults: Faults, pointer: string, message: string): void {
  if (!faults.has(pointer)) faults.set(pointer, message)
}

function judgeOrder(sent: Sent, moments: Sent, latest: number, zone: string, faults: Faults): void {
  let before: { name: keyof ToldMoments; words: string; at: number } | null = null
  for (const [name, words] of ORDER) {
    const text = moments[name]
    if (!text) continue
    const at = Date.parse(text)
    if (sent[name] && at > latest) add(faults, `/${name}`, FUTURE)
    else if (before && at < before.at && sent[name])
      add(faults, `/${name}`, `This lies before ${before.words}, ${sayLocalMoment(new Date(before.at), zone)}.`)
    else if (before && at < before.at && sent[before.name])
      add(faults, `/${before.name}`, `This lies after ${words}, ${sayLocalMoment(new Date(at), zone)}.`)
    if (!before || at >= before.at) before = { name, words, at }
  }
}

function judgeWaits(waits: ToldMoments['waits'], { failedAt, backInUseAt }: Sent, latest: number, zone: string, faults: Faults): void {
  const failed = failedAt ? Date.parse(failedAt) : -Infinity
  const back = backInUseAt ? Date.parse(backInUseAt) : Infinity
  const say = (at: number): string => sayLocalMoment(new Date(at), zone)
  for (const [index, wait] of waits.entries()) {
    const from = Date.parse(wait.fromAt)
    const to = wait.toAt === null ? null : Date.parse(wait.toAt)
    if (from > latest) add(faults, `/waits/${index}/fromAt`, FUTURE)
    if (from < failed) add(faults, `/waits/${index}/fromAt`, `This wait begins before it failed, ${say(failed)}.`)
    if (from > back) add(faults, `/waits/${index}/fromAt`, `This wait begins after it was back in use, ${say(back)}.`)
    if (to === null) continue
    if (to > latest) add(faults, `/waits/${index}/toAt`, FUTURE)
    if (to < from) add(faults, `/waits/${index}/toAt`, 'This wait ends before it begins.')
    if (to > back) add(faults, `/waits/${index}/toAt`, `This wait ends after it was back in use, ${say(back)}.`)
  }
}
