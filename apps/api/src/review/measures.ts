import type { Review } from '@tapewarden/shared'
import type { Durations } from '../stoppages/durations.js'
import { meanBetween, meanDuration, meanOf, shareOf } from './estimates.js'
import type { EndedCare } from './review-rows.js'
import type { Weighed } from './weigh.js'

type Measure = Review['measures'][number]

const REPEAT_MS = 30 * 86_400_000

/** Unplanned stoppages that came within 30 days of the one before, on the same machine. */
function repeats(reviews: readonly Weighed[]): { repeated: number; n: number } {
  let [repeated, n] = [0, 0]
  for (const { unplanned } of reviews) {
    const moments = unplanned.map(({ failed }) => failed).sort((a, b) => a - b)
    n += moments.length
    repeated += moments.filter((at, index) => index > 0 && at - (moments[index - 1] ?? 0) <= REPEAT_MS).length
  }
  return { repeated, n }
}

const SPLIT: readonly [keyof Durations, string, string][] = [
  ['detectionHours', 'detection', 'noticing it'],
  ['administrativeHours', 'administrative', 'deciding and handing over'],
  ['logisticHours', 'logistic', 'waiting for parts'],
  ['technicalHours', 'technical', 'waiting for access, travel or a second person'],
  ['activeHours', 'active', 'working on it'],
]

export function measuresOf(reviews: readonly Weighed[], care: EndedCare): Measure[] {
  const sum = (of: (review: Weighed) => number) => reviews.reduce((total, review) => total + of(review), 0)
  const stopped = reviews.filter(({ begun }) => begun.length > 0)
  const unplanned = stopped.flatMap(({ begun, split }) => split.filter((_one, index) => begun[index]?.planned === false))
  const ended = stopped.flatMap(({ begun, split }) =>
    split.filter((_one, index) => begun[index]?.planned === false && begun[index]?.backInUse !== null),
  )
  const stoppages = sum(({ begun }) => begun.length)
  const { repeated, n } = repeats(stopped)
  const ofUnplanned = 'Planned stoppages.'
  return [
    {
      key: 'mean_hours_between',
      name: 'Mean time between unplanned stoppages',
      unit: 'hours in service',
      formula: 'hours in service ÷ unplanned stoppages begun in the period',
      exclusions: ofUnplanned,
      rows: 'unplanned',
      estimate: meanBetween(
        sum(({ hoursObserved }) => hoursObserved),
        unplanned.length,
      ),
    },
    {
      key: 'mean_hours_to_back_in_use',
      name: 'Mean time from failure to back in use',
      unit: 'hours',
      formula: 'sum of (back in use − failed) ÷ stoppages',
      exclusions: 'Planned stoppages, and those still open.',
      rows: 'unplanned_ended',
      estimate: meanDuration(ended.map((one) => one.totalHours)),
    },
    ...SPLIT.map(([key, name, words]): Measure => ({
      key: `mean_${key}`,
      name: `Mean ${name} time`,
      unit: 'hours',
      formula: `sum of hours ${words} ÷ stoppages`,
      exclusions: 'Planned stoppages, and those still open.',
      rows: 'unplanned_ended',
      estimate: meanOf(ended.map((one) => one[key] ?? 0)),
    })),
    {
      key: 'planned_share',
      name: 'Planned share of stoppages',
      unit: 'share',
      formula: 'planned stoppages ÷ all stoppages begun in the period',
      exclusions: 'None.',
      rows: 'all',
      estimate: shareOf(stoppages - unplanned.length, stoppages),
    },
    {
      key: 'repeat_share',
      name: 'Repeated stoppages',
      unit: 'share',
      formula: 'unplanned stoppages within 30 days of the one before on the same machine ÷ unplanned stoppages',
      exclusions: `${ofUnplanned} One before the period does not count as 'before'.`,
      rows: 'unplanned',
      estimate: shareOf(repeated, n),
    },
    {
      key: 'care_in_time',
      name: 'Care done in time',
      unit: 'share',
      formula: 'done before it was late ÷ (done + missed), ended in the period',
      exclusions: 'Skipped, superseded and still open.',
      rows: 'care',
      estimate: shareOf(care.inTime, care.ended),
    },
    {
      key: 'care_missed',
      name: 'Monthly care missed',
      unit: 'share',
      formula: 'counted as missed ÷ (done + missed), ended in the period',
      exclusions: 'Skipped, superseded and still open.',
      rows: 'care',
      estimate: shareOf(care.missed, care.ended),
    },
  ]
}
