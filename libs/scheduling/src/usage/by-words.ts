/**
 * The level of a machine of which there are only words: 'all day', 'some hours', 'seldom'. A word says a range, not a
 * value: a machine that runs twice its type's usual day also runs 'all day'. So the word's own figure is not taken for the
 * level; the level is what the pool of its type believes, given the words.
 */
import { normalCdf } from '@tapewarden/reliability'
import type { Day, UsageInterval } from '../model.js'
import { HALF_LIFE_DAYS } from './own-level.js'
import type { UsagePool } from './pools.js'
import { type Sums, sumOver } from './sums.js'

/** The words' figures as shares of the type's usual day, and the middles between them on the log scale. */
const FIGURES = [0.05, 0.4, 1] as const
const BORDERS = [Math.log(0.05 * 0.4) / 2, Math.log(0.4 * 1) / 2] as const
/** How far a person's feeling for a month is off, of the logarithm of its share (assumption). */
const FEELING_LOG_SD = 0.35
/** Share of the words that say nothing of the month: the wrong one tapped, or last month's repeated (assumption). */
const SLIP = 0.1
/** Words of less weight by age say nothing any more. */
const NEGLIGIBLE = 1e-3
const GRID = 41
const REACH = 4

export interface LevelByWords {
  /** Mean and standard deviation of the logarithm of strips on an ordinary working day. */
  logMean: number
  logSd: number
}

interface Word {
  /** 0: seldom, 1: some hours, 2: all day. */
  index: number
  weight: number
}

/** The words, known again by their figure; null where anything else tells of the machine. */
function wordsOf(sums: Sums, usage: readonly UsageInterval[], today: Day, usualStripsPerDay: number): Word[] | null {
  const words: Word[] = []
  for (const { from, to, strips, kind } of usage) {
    const weight = 2 ** (-Math.max(0, today - to) / HALF_LIFE_DAYS)
    const expected = sumOver(sums, sums.expected, from, to)
    if (weight < NEGLIGIBLE || expected <= 0) continue
    if (kind !== 'tap') return null
    const share = Math.log(strips / expected / usualStripsPerDay)
    const away = FIGURES.map((figure) => Math.abs(Math.log(figure) - share))
    words.push({ index: away.indexOf(Math.min(...away)), weight })
  }
  return words.length === 0 ? null : words
}

/** Chance that of a month of a level, as the logarithm of its share of the usual day, this word is said. */
function chanceOf(word: number, logShare: number): number {
  const below = (border: number | undefined) => (border === undefined ? 1 : normalCdf((border - logShare) / FEELING_LOG_SD))
  const felt = below(BORDERS[word]) - (word === 0 ? 0 : below(BORDERS[word - 1]))
  return (1 - SLIP) * felt + SLIP / FIGURES.length
}

/**
 * @param usualStripsPerDay by which the words were made strips
 * @returns null where there are no words, or more than words
 */
export function levelByWords(
  sums: Sums,
  usage: readonly UsageInterval[],
  today: Day,
  usualStripsPerDay: number,
  pool: UsagePool,
): LevelByWords | null {
  const words = wordsOf(sums, usage, today, usualStripsPerDay)
  if (!words) return null
  const usual = Math.log(usualStripsPerDay)
  let [total, moment, square] = [0, 0, 0]
  for (let index = 0; index < GRID; index++) {
    const z = -REACH + (2 * REACH * index) / (GRID - 1)
    const log = pool.logMean + pool.logSd * z
    let weight = -0.5 * z * z
    for (const word of words) weight += word.weight * Math.log(chanceOf(word.index, log - usual))
    const mass = Math.exp(weight)
    total += mass
    moment += mass * z
    square += mass * z * z
  }
  const mean = moment / total
  return { logMean: pool.logMean + pool.logSd * mean, logSd: pool.logSd * Math.sqrt(Math.max(0, square / total - mean * mean)) }
}
