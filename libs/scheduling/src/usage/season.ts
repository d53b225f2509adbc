/**
 * The yearly wave of a warehouse's use, which nobody states: learnt from more than a year of evidence of all its machines.
 * One sine a year of ln(use), from the changes between blocks of four weeks, so that neither the machines' levels nor their
 * slow drift are taken for it; days in stated peaks stay out. Normal prior, so that little evidence moves little.
 */
import type { Day, UsageInterval } from '../model.js'
import { type Sums, sumOver } from './sums.js'

const YEAR_DAYS = 365.2425
/** Whole weeks, so that every block has the same weekdays. */
const BLOCK_DAYS = 28
/** Least ordinary working days' worth of evidence that tells a block's level. */
const LEAST_WORTH = 8
/** An interval longer than this says too little of when its strips were cut. */
const LONGEST_INTERVAL_DAYS = 45
/** Blocks may be missing between two that are compared, for a peak or a closure. */
const LONGEST_GAP = 4
/** From less than a year a wave cannot be told from a change. */
const LEAST_SPAN_DAYS = 330
const LEAST_CHANGES = 8
/** Standard deviation of either coefficient of ln use before anything is seen (assumption). */
const PRIOR_SD = 0.12
/** Variance of a mean change between neighbouring blocks where too few tell, and how many it counts as (assumptions). */
const CHANGE_VARIANCE = 0.006
const CHANGE_WORTH = 4

type Fleet = readonly { usage: readonly UsageInterval[] }[]

export interface Season {
  /** Coefficients of ln use. */
  sine: number
  cosine: number
}

interface Change {
  sine: number
  cosine: number
  mean: number
  /** Inverse of its variance, up to a common factor. */
  weight: number
}

const angleOf = (day: number): number => (2 * Math.PI * day) / YEAR_DAYS
const middleOf = (block: number): number => (block + 0.5) * BLOCK_DAYS

/** ln(strips over what is expected) of each block of which enough is known. */
function blocksOf(sums: Sums, usage: readonly UsageInterval[]): [block: number, log: number][] {
  const { from: tableFrom, to: tableTo } = sums.table
  const base = Math.floor(tableFrom / BLOCK_DAYS)
  const strips = new Float64Array(Math.floor(tableTo / BLOCK_DAYS) - base + 1)
  const worth = new Float64Array(strips.length)
  for (const { from, to, strips: cut, kind } of usage) {
    if (kind === 'tap' || to - from >= LONGEST_INTERVAL_DAYS || from < tableFrom || sumOver(sums, sums.inPeak, from, to) > 0) continue
    const expected = sumOver(sums, sums.expected, from, to)
    if (expected <= 0) continue
    const last = Math.floor(to / BLOCK_DAYS)
    for (let block = Math.floor(from / BLOCK_DAYS); block <= last; block++) {
      const [begin, end] = [Math.max(from, block * BLOCK_DAYS), Math.min(to, (block + 1) * BLOCK_DAYS - 1)]
      const part = begin === from && end === to ? expected : sumOver(sums, sums.expected, begin, end)
      strips[block - base]! += (cut * part) / expected
      worth[block - base]! += part
    }
  }
  const blocks: [number, number][] = []
  for (const [index, expected] of worth.entries())
    if (expected >= LEAST_WORTH && strips[index]! > 0) blocks.push([base + index, Math.log(strips[index]! / expected)])
  return blocks
}

/** Days from the first to the last evidence that could tell of a season. */
function spanOf(machines: Fleet): number {
  let [first, last] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]
  for (const { usage } of machines)
    for (const { from, to, kind } of usage) {
      if (kind === 'tap') continue
      if (from < first) first = from
      if (to > last) last = to
    }
  return last - first
}

/** Mean change between each pair of blocks, over the machines that tell of both. */
function changesOf(sums: Sums, machines: Fleet): { changes: Change[]; spanDays: number } {
  const pairs = new Map<string, { earlier: number; later: number; sum: number; count: number }>()
  let [first, last] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]
  for (const { usage } of machines) {
    const blocks = blocksOf(sums, usage)
    for (const [index, [later, log]] of blocks.entries()) {
      first = Math.min(first, later)
      last = Math.max(last, later)
      const [earlier, before] = blocks[index - 1] ?? [Number.NEGATIVE_INFINITY, 0]
      if (later - earlier > LONGEST_GAP) continue
      const key = `${earlier} ${later}`
      const pair = pairs.get(key) ?? { earlier, later, sum: 0, count: 0 }
      pair.sum += log - before
      pair.count += 1
      pairs.set(key, pair)
    }
  }
  const changes = [...pairs.values()].map(({ earlier, later, sum, count }): Change => {
    const [from, to] = [angleOf(middleOf(earlier)), angleOf(middleOf(later))]
    // What all machines of a warehouse have in common does not average out, so more of them add ever less.
    return {
      sine: Math.sin(to) - Math.sin(from),
      cosine: Math.cos(to) - Math.cos(from),
      mean: sum / count,
      weight: 1 / ((later - earlier) * (1 + 4 / count)),
    }
  })
  return { changes, spanDays: (last - first) * BLOCK_DAYS }
}

/** Ridge regression of the changes on those of a sine. */
function fit(changes: readonly Change[], variance: number): Season {
  let [ss, sc, cc, sy, cy] = [PRIOR_SD ** -2, 0, PRIOR_SD ** -2, 0, 0]
  for (const { sine, cosine, mean, weight } of changes) {
    const precision = weight / variance
    ss += precision * sine * sine
    sc += precision * sine * cosine
    cc += precision * cosine * cosine
    sy += precision * sine * mean
    cy += precision * cosine * mean
  }
  const determinant = ss * cc - sc * sc
  return { sine: (cc * sy - sc * cy) / determinant, cosine: (ss * cy - sc * sy) / determinant }
}

/** @param sums by what is stated   @returns null where less than a year, or too little, tells of it */
export function seasonOf(sums: Sums, machines: Fleet): Season | null {
  // Cheaply told, so that a young fleet costs no blocks.
  if (!(spanOf(machines) >= LEAST_SPAN_DAYS)) return null
  const { changes, spanDays } = changesOf(sums, machines)
  if (spanDays < LEAST_SPAN_DAYS || changes.length < LEAST_CHANGES) return null
  const rough = fit(changes, CHANGE_VARIANCE)
  const squares = changes.reduce((sum, { sine, cosine, mean, weight }) => {
    const residual = mean - rough.sine * sine - rough.cosine * cosine
    return sum + weight * residual * residual
  }, 0)
  return fit(changes, (squares + CHANGE_WORTH * CHANGE_VARIANCE) / (changes.length + CHANGE_WORTH))
}

/** Multipliers of a table's days with the season in them. */
export function withSeason(multiplier: Float64Array, from: Day, season: Season | null): Float64Array {
  if (!season) return multiplier
  return multiplier.map((factor, index) => {
    const angle = angleOf(from + index)
    return factor * Math.exp(season.sine * Math.sin(angle) + season.cosine * Math.cos(angle))
  })
}
