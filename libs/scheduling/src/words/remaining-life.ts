/** How long a part will probably hold, in words. Rule 16: shown, and feeds the need for parts; it is no due date. */
import { remainingLifeRange } from '@tapewarden/reliability'
import type { LifeOfComponent } from '../planning/input.js'
import { plural, sayNumber } from './say.js'

export interface RemainingLife {
  /** Years in use; of a part that lives in strips, years of its type's usual use. */
  livedYears: number
  /** Further years by which 10, 50 and 90 % of such parts have failed. */
  earlyYears: number
  likelyYears: number
  lateYears: number
}

const tenths = (value: number): number => Math.round(value * 10) / 10

export function remainingLifeOf(life: LifeOfComponent, livedYears: number): RemainingLife {
  const { early, likely, late } = remainingLifeRange({ shape: life.shape, scale: life.scaleYears }, livedYears)
  return { livedYears: tenths(livedYears), earlyYears: tenths(early), likelyYears: tenths(likely), lateYears: tenths(late) }
}

/** @param inStrips the years are those of the type's usual use */
export function sayRemainingLife(remaining: RemainingLife | null, life: LifeOfComponent, inStrips: boolean): string {
  if (remaining === null) return 'Nobody knows when it was new, so nothing can be said of how long it will hold.'
  const years = (value: number): string => (value === 1 ? '1 year' : `${sayNumber(value)} years`)
  const sentences = [
    `It has ${inStrips ? 'done' : 'been in for'} ${years(remaining.livedYears)}${inStrips ? ' of its type’s usual use' : ''}.`,
    `Of parts like it one in ten fails within ${years(remaining.earlyYears)} more, half within ${years(remaining.likelyYears)}, nine in ten within ${years(remaining.lateYears)}.`,
    life.removals === 0
      ? 'This rests on what the trade says (common practice), none was taken out here yet.'
      : `This rests on what the trade says (common practice) and on ${plural(life.removals, 'part', 'parts')} taken out here, of which ${life.failures} had failed.`,
  ]
  return sentences.join(' ')
}
