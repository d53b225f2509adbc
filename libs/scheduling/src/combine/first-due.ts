/**
 * Whichever comes first. The triggers of one task share the machine's use, so they are combined given the use and then
 * averaged: E_U[1 − Π(1 − P_k(t | U))]. Each P_k is a step function of U here, so the average over U is exact: the
 * product's rises at the steps are summed with the chance that U has passed each of them.
 */
import type { Day } from '../model.js'
import { chanceReached, dayOnWhich, dayReached, type UsageForecast, usageMoments } from '../usage/forecast.js'
import { hartNormalCdf } from '../wear/levels.js'
import { chanceOfDays, dayOfChance, type DueMoment, type StripsNode, type UncertainDays } from './due-moment.js'

export type { DueMoment, StripsNode, UncertainDays } from './due-moment.js'

export interface DueRange {
  early: Day | null
  likely: Day | null
  late: Day | null
}

/** Chances of the three days that are told. */
export const EARLY = 0.1
export const LIKELY = 0.5
export const LATE = 0.9

/** The rises of 1 − Π(1 − P_k(u)) over all steps, in order of u. */
export function riseNodes(moments: readonly (readonly StripsNode[])[]): StripsNode[] {
  if (moments.length === 1) return [...(moments[0] as readonly StripsNode[])].sort((a, b) => a.remaining - b.remaining)
  const steps = moments.flatMap((nodes, index) => nodes.map(({ remaining, weight }) => ({ remaining, weight, index })))
  steps.sort((a, b) => a.remaining - b.remaining)
  const passed = moments.map(() => 0)
  const out: StripsNode[] = []
  let before = 0
  for (const { remaining, weight, index } of steps) {
    passed[index] = Math.min(1, (passed[index] as number) + weight)
    const now = 1 - passed.reduce((product, share) => product * (1 - share), 1)
    if (now > before) out.push({ remaining, weight: now - before })
    before = now
  }
  return out
}

/** Steps by which the approximation may be a day or two off before the search is done over the whole calendar. */
const NEAR_STEPS = 6

/** Strips that are passed at a chance, counted from a day. */
interface Rising {
  usage: UsageForecast
  from: Day
  nodes: readonly StripsNode[]
  /** Of having passed them up to and including a day. */
  chance: (day: Day) => number
}

/** The three days that are told ask for the same far days, so a day's chance is worked out once. */
function rising(usage: UsageForecast, nodes: readonly StripsNode[], from: Day): Rising {
  const known = new Map<Day, number>()
  const chance = (day: Day): number => {
    const before = known.get(day)
    if (before !== undefined) return before
    let sum = 0
    for (const { remaining, weight } of nodes) sum += weight * chanceReached(usage, remaining, from, day)
    known.set(day, sum)
    return sum
  }
  return { usage, from, nodes, chance }
}

/**
 * First day on which the chance of having passed the nodes reaches `probability`; null beyond the horizon. The chance
 * rises from day to day, so a day found by a normal approximation is put right by a few exact evaluations beside it.
 */
export function quantileDay(usage: UsageForecast, nodes: readonly StripsNode[], from: Day, probability: number): Day | null {
  return dayOfRising(rising(usage, nodes, from), probability)
}

function dayOfRising({ usage, nodes, from, chance }: Rising, probability: number): Day | null {
  const [only] = nodes
  if (only && nodes.length === 1) return dayReached(usage, only.remaining, from, probability, only.weight === 1 ? chance : undefined)
  const exact = (day: Day): boolean => chance(day) >= probability
  const first = Math.max(from, usage.context.today)
  const last = dayOnWhich(first, usage.context.table.to, exact)
  if (last === null) return null
  const guess = firstDay(first, last, (day) => nearChance(usage, nodes, from, day) >= probability)
  return putRight(guess, first, last, exact)
}

/** First day of first..last for which `holds`, given that it holds on the last and goes on holding. */
function firstDay(first: Day, last: Day, holds: (day: Day) => boolean): Day {
  let low = first
  let high = last
  while (low < high) {
    const middle = (low + high) >> 1
    if (holds(middle)) high = middle
    else low = middle + 1
  }
  return low
}

function putRight(guess: Day, first: Day, last: Day, exact: (day: Day) => boolean): Day {
  let day = guess
  if (exact(day)) {
    for (let step = 0; step < NEAR_STEPS; step++) {
      if (day === first || !exact(day - 1)) return day
      day--
    }
    return firstDay(first, day, exact)
  }
  for (let step = 0; step < NEAR_STEPS; step++) if (exact(++day)) return day
  return firstDay(day, last, exact)
}

/** The chance by the Wilson–Hilferty approximation of the gamma distribution (Wilson and Hilferty 1931). */
function nearChance(usage: UsageForecast, nodes: readonly StripsNode[], from: Day, day: Day): number {
  const { mean, variance } = usageMoments(usage, from, day)
  if (mean <= 0) return nodes.reduce((sum, { remaining, weight }) => (remaining <= 0 ? sum + weight : sum), 0)
  const ninth = variance / (9 * mean * mean)
  const perSd = 1 / Math.sqrt(ninth)
  let chance = 0
  for (const { remaining, weight } of nodes)
    chance += remaining <= 0 ? weight : weight * hartNormalCdf((1 - ninth - Math.cbrt(remaining / mean)) * perSd)
  return chance
}

const earlier = (a: Day | null, b: Day | null): Day | null => (a === null ? b : b === null ? a : Math.min(a, b))

interface Sorted {
  fixed: Day | null
  /** None where the use to come is not known. */
  byStart: (Rising & { sets: readonly (readonly StripsNode[])[] })[]
  uncertain: UncertainDays[]
  /** Last day looked at; 0 where no use is known. */
  horizon: Day
}
type Others = Omit<Sorted, 'fixed'>

function sortMoments(usage: UsageForecast | null, moments: readonly DueMoment[]): Sorted {
  let fixed: Day | null = null
  const uncertain: UncertainDays[] = []
  const setsByStart = new Map<Day, (readonly StripsNode[])[]>()
  for (const moment of moments) {
    if (moment.kind === 'day') fixed = earlier(fixed, moment.day)
    else if (moment.kind === 'uncertain_days') uncertain.push(moment)
    else {
      const same = setsByStart.get(moment.from)
      if (same) same.push(moment.nodes)
      else setsByStart.set(moment.from, [moment.nodes])
    }
  }
  const byStart = usage ? [...setsByStart].map(([from, sets]) => ({ ...rising(usage, riseNodes(sets), from), sets })) : []
  return { fixed, byStart, uncertain, horizon: usage?.context.table.to ?? 0 }
}

/**
 * Chance of having passed the first of the strips given the use. The machine's use is one path, so a step is passed by
 * all paths above a level; steps in order of their chances give the product's rises, whatever day each counts from.
 */
function chanceOfStrips(byStart: Others['byStart'], day: Day): number {
  const [only, other] = byStart
  if (!only || day < only.usage.context.today) return 0
  if (!other) return day < only.from ? 0 : only.chance(day)
  const sets = byStart.flatMap(({ usage, from, sets: nodes }) => nodes.map((set) => ({ usage, from, set })))
  const steps = sets.flatMap(({ usage, from, set }, index) =>
    set.map(({ remaining, weight }) => ({ weight, index, chance: day < from ? 0 : chanceReached(usage, remaining, from, day) })),
  )
  steps.sort((a, b) => b.chance - a.chance)
  const passed = sets.map(() => 0)
  let [before, total] = [0, 0]
  for (const { weight, index, chance } of steps) {
    passed[index] = Math.min(1, (passed[index] as number) + weight)
    const now = 1 - passed.reduce((product, share) => product * (1 - share), 1)
    total += (now - before) * chance
    before = now
  }
  return total
}

/** Chance of having fallen due up to and including a day. */
export function chanceDueBy(usage: UsageForecast | null, moments: readonly DueMoment[], day: Day): number {
  const { fixed, ...others } = sortMoments(usage, moments)
  return fixed !== null && day >= fixed ? 1 : chanceOfOthers(others, day)
}

function chanceOfOthers({ byStart, uncertain }: Others, day: Day): number {
  let spared = 1 - chanceOfStrips(byStart, day)
  for (const moment of uncertain) spared *= 1 - chanceOfDays(moment, day)
  return 1 - spared
}

/** Early, likely and late day of one set of moments; a purely calendar one has all three the same, and is exact. */
export function dueRange(usage: UsageForecast | null, moments: readonly DueMoment[]): DueRange {
  const { fixed, ...others } = sortMoments(usage, moments)
  const at = (probability: number): Day | null => earlier(fixed, uncertainDay(others, probability, fixed))
  return { early: at(EARLY), likely: at(LIKELY), late: at(LATE) }
}

function uncertainDay(others: Others, probability: number, fixed: Day | null): Day | null {
  const [start, second] = others.byStart
  const [days] = others.uncertain
  if (!start) {
    if (!days) return null
    if (others.uncertain.length === 1) return dayOfChance(days, probability)
  } else if (!second && !days) return dayOfRising(start, probability)
  return searchedDay(others, probability, fixed)
}

/** Moments of several kinds: each alone gives a day by which the chance is reached, so the search ends at the first of them. */
function searchedDay(others: Others, probability: number, fixed: Day | null): Day | null {
  const { byStart, uncertain, horizon } = others
  const alone = [
    fixed,
    ...uncertain.map((moment) => dayOfChance(moment, probability)),
    ...byStart.map((start) => dayOfRising(start, probability)),
  ]
  const last = alone.reduce<Day | null>(earlier, null)
  const exact = (day: Day): boolean => chanceOfOthers(others, day) >= probability
  const end = last ?? horizon
  const first = Math.min(end, ...[...uncertain, ...byStart].map(({ from }) => from))
  return last === null && !exact(end) ? null : firstDay(first, end, exact)
}

const earliest = (ranges: readonly DueRange[]): DueRange => ({
  early: ranges.reduce<Day | null>((day, range) => earlier(day, range.early), null),
  likely: ranges.reduce<Day | null>((day, range) => earlier(day, range.likely), null),
  late: ranges.reduce<Day | null>((day, range) => earlier(day, range.late), null),
})

/** @returns the range of all moments, and the index of the one with the earliest likely day */
export function firstDue(usage: UsageForecast | null, moments: readonly DueMoment[]): DueRange & { governing: number | null } {
  let governing: number | null = null
  let best: Day | null = null
  const ranges = moments.map((moment) => dueRange(usage, [moment]))
  for (const [index, { likely }] of ranges.entries()) {
    if (likely !== null && (best === null || likely < best)) [best, governing] = [likely, index]
  }
  // Only moments with a spread need to be combined anew; a fixed day beside one of them just caps it.
  const sharing = moments.filter(({ kind }) => kind !== 'day').length > 1
  return { ...(sharing ? dueRange(usage, moments) : earliest(ranges)), governing }
}

/** Gauss–Hermite nodes for a standard normal, five points. Source: Abramowitz and Stegun 1964, table 25.10, scaled. */
const NORMAL_NODES = [
  [-2.8569700138728056, 0.011257411327720693],
  [-1.3556261799742657, 0.22207592200561263],
  [0, 0.5333333333333333],
  [1.3556261799742657, 0.22207592200561263],
  [2.8569700138728056, 0.011257411327720693],
] as const

/**
 * Remaining strips where the strips cut so far are inferred: used and to come share one factor f, whose middle the pool may
 * have moved for those used, and the moment is f · (used + to come) ≥ amount, so to come ≥ amount / f − used.
 */
export function remainingNodes(amount: number, used: number, sharedSd: number): StripsNode[] {
  if (sharedSd <= 0) return [{ remaining: amount - used, weight: 1 }]
  return NORMAL_NODES.map(([z, weight]) => ({ remaining: amount / Math.exp(sharedSd * z) - used, weight }))
}
