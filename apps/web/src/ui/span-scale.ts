/** Where things stand along a band of time: labels that cross no other's line, ticks on round hours or days of the zone. Pure. */
import { sayDay } from './format.js'
import { instantOf, wallOf } from './wall-time.js'

export interface PlacedLabel {
  /** Of the line. */
  x: number
  /** Of the room for the words, which end at their line where there is no room after it. */
  left: number
  ends: boolean
  /** 0 is next to the band. */
  row: number
  words: string
}

/** Nearer than this two moments are one line, with both their words. */
const SAME = 2

/**
 * No line runs through the words of another, as far as there are rows: of those whose words follow their line the rightmost lies
 * lowest, of those at the far end, whose words come before it, the leftmost.
 */
export function placeLabels(moments: readonly { x: number; words: string }[], width: number, letter: number): PlacedLabel[] {
  const joined = moments.reduce<{ x: number; words: string }[]>((out, moment) => {
    const last = out.at(-1)
    if (!last || moment.x - last.x > SAME) return [...out, moment]
    return [...out.slice(0, -1), { x: last.x, words: `${last.words}, ${moment.words}` }]
  }, [])
  const placed: PlacedLabel[] = []
  const wideOf = (words: string): number => words.length * letter + 8
  const endsThere = ({ x, words }: { x: number; words: string }): boolean => x + wideOf(words) > width && x > width / 2
  for (const moment of [...joined.filter(endsThere), ...joined.filter((one) => !endsThere(one)).toReversed()]) {
    const { x, words } = moment
    const ends = endsThere(moment)
    const wide = wideOf(words)
    const left = ends ? Math.max(0, x - wide) : x
    const clashes = (row: number): boolean =>
      placed.some((other) => {
        const otherWide = wideOf(other.words)
        const sameRow = other.row === row && left < other.left + otherWide && other.left < left + wide
        const throughOther = other.row < row && x > other.left && x < other.left + otherWide
        const throughThis = other.row > row && other.x > left && other.x < left + wide
        return sameRow || throughOther || throughThis
      })
    const row = [0, 1, 2, 3, 4, 5, 6].find((candidate) => !clashes(candidate)) ?? placed.length
    placed.push({ x, left, ends, row, words })
  }
  return placed
}

const MINUTE_MS = 60_000
const HOUR_MS = 60 * MINUTE_MS
const DAY_MS = 24 * HOUR_MS
const STEPS = [5, 15, 30]
  .map((minutes) => minutes * MINUTE_MS)
  .concat([1, 2, 3, 6, 12].map((hours) => hours * HOUR_MS))
  .concat([1, 2, 7, 14, 28, 56, 112, 364].map((days) => days * DAY_MS))
const MOST_TICKS = 7

/** Round hours or days by the clocks of the zone, at most seven; midnight has the name of its day. */
export function ticksOf(start: number, end: number, zone: string): { at: number; words: string }[] {
  const step = STEPS.find((one) => (end - start) / one <= MOST_TICKS) ?? (end - start) / MOST_TICKS
  const wallMs = (at: number): number => Date.parse(`${wallOf(new Date(at).toISOString(), zone)}Z`)
  const out: { at: number; words: string }[] = []
  for (let wall = Math.ceil(wallMs(start) / step) * step; wall <= wallMs(end) && out.length <= MOST_TICKS; wall += step) {
    const text = new Date(wall).toISOString().slice(0, 16)
    const at = Date.parse(instantOf(text, zone) ?? '')
    if (at < start || at > end) continue
    out.push({ at, words: text.endsWith('T00:00') || step >= DAY_MS ? sayDay(text.slice(0, 10), text.slice(0, 10)) : text.slice(11) })
  }
  return out
}
