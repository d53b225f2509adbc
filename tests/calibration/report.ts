/** From the records of all simulated warehouses to the figures asked for. */
import { clusteredMean, scoreDates, type ScoredDue } from '@tapewarden/scheduling'
import type { DueRecord, RateRecord, ReminderRecord, SimulationRecord, UndatedRecord, UseRecord } from './record.js'

const MONTH_DAYS = 30.4375
const LONGEST_MONTHS = 120

type Of<What extends SimulationRecord['what']> = Extract<SimulationRecord, { what: What }>
const only = <What extends SimulationRecord['what']>(records: readonly SimulationRecord[], what: What): Of<What>[] =>
  records.filter((record): record is Of<What> => record.what === what)

/** The whole number of months that would have been best in hindsight, for each trigger and type: no fixed interval does better. */
function bestMonths(dues: readonly DueRecord[]): Map<string, number> {
  const spans = new Map<string, number[]>()
  for (const { trigger, typeIndex, resetOn, trueOn, origin } of dues)
    if (trueOn !== null && origin === 'reset') {
      const name = `${trigger} ${typeIndex}`
      spans.set(name, [...(spans.get(name) ?? []), trueOn - resetOn])
    }
  const best = new Map<string, number>()
  for (const [name, days] of spans) {
    let [least, months] = [Number.POSITIVE_INFINITY, 1]
    for (let tried = 1; tried <= LONGEST_MONTHS; tried++) {
      const loss = days.reduce((sum, span) => sum + Math.abs(span - tried * MONTH_DAYS), 0)
      if (loss < least) [least, months] = [loss, tried]
    }
    best.set(name, months)
  }
  return best
}

function scored(dues: readonly DueRecord[]): (ScoredDue & { habit: string })[] {
  const months = bestMonths(dues)
  return dues.map((due) => {
    const interval = months.get(`${due.trigger} ${due.typeIndex}`)
    return {
      trigger: due.trigger,
      origin: due.origin,
      cluster: due.cluster,
      habit: due.habit,
      early: due.early,
      likely: due.likely,
      late: due.late,
      trueOn: due.trueOn,
      chance: { before: due.before, upTo: due.upTo },
      fixedMonthsOn: interval === undefined ? null : due.resetOn + Math.round(interval * MONTH_DAYS),
      lastRepeatedOn: due.lastIntervalDays === null ? null : due.resetOn + due.lastIntervalDays,
    }
  })
}

function rateScore(rates: readonly RateRecord[]) {
  const root = (errors: readonly number[]): number => Math.sqrt(errors.reduce((sum, error) => sum + error * error, 0) / errors.length)
  const ours = root(rates.map((rate) => rate.ours - rate.trueRate))
  const own = root(rates.map((rate) => rate.own - rate.trueRate))
  return { sets: rates.length, ours, own, lowerBy: rates.length === 0 ? 0 : 1 - ours / own }
}

function useScore(uses: readonly UseRecord[]) {
  const clusters = uses.map(({ cluster }) => cluster)
  const inside = uses.map(({ trueStrips, low, high }) => (trueStrips >= low && trueStrips <= high ? 1 : 0))
  const [told, cut] = [uses.reduce((sum, { strips }) => sum + strips, 0), uses.reduce((sum, { trueStrips }) => sum + trueStrips, 0)]
  const ratio = cut === 0 ? 1 : told / cut
  // What each due adds to the error of the ratio of the sums (Cochran, Sampling Techniques, 3rd ed. 1977, section 6.3).
  const off = uses.map(({ strips, trueStrips }) => ((strips - ratio * trueStrips) * uses.length) / cut)
  const { low, high } = clusteredMean(off, clusters)
  const bias = ratio - 1
  return {
    inside: clusteredMean(inside, clusters),
    bias,
    biasLow: low === null ? null : bias + low,
    biasHigh: high === null ? null : bias + high,
  }
}

function reminderScore(reminders: readonly ReminderRecord[]) {
  const enough = reminders.map(({ trueOn, firstSaidOn, leadDays }) => (firstSaidOn !== null && firstSaidOn <= trueOn - leadDays ? 1 : 0))
  return clusteredMean(
    enough,
    reminders.map(({ cluster }) => cluster),
  )
}

const groupBy = <Item, Answer>(items: readonly Item[], keyOf: (item: Item) => string, answer: (items: readonly Item[]) => Answer) => {
  const keys = [...new Set(items.map(keyOf))].sort()
  return Object.fromEntries(keys.map((key) => [key, answer(items.filter((item) => keyOf(item) === key))]))
}

function undatedOf(records: readonly UndatedRecord[]) {
  return groupBy(
    records,
    ({ trigger, origin }) => `${trigger}, ${origin}`,
    (some) => some.length,
  )
}

export function reportOf(records: readonly SimulationRecord[]) {
  const dues = scored(only(records, 'due'))
  const uses = only(records, 'use')
  const reminders = only(records, 'reminder')
  return {
    overall: scoreDates(dues),
    byTrigger: groupBy(dues, ({ trigger }) => trigger, scoreDates),
    byOrigin: groupBy(dues, ({ trigger, origin }) => `${trigger}, ${origin}`, scoreDates),
    byEvidence: groupBy(dues, ({ trigger, habit }) => `${trigger}, ${habit}`, scoreDates),
    withoutDate: undatedOf(only(records, 'undated')),
    distinctDues: groupBy(
      only(records, 'reminder'),
      ({ trigger }) => trigger,
      (some) => some.length,
    ),
    reminderLeadEnough: { overall: reminderScore(reminders), ...groupBy(reminders, ({ trigger }) => trigger, reminderScore) },
    wearRatesOfFewMeasurements: rateScore(only(records, 'rate')),
    inferredUse: {
      cartonsAndRolls: useScore(uses.filter(({ habit }) => habit !== 'tap')),
      ...groupBy(uses, ({ habit }) => habit, useScore),
    },
  }
}
export type Report = ReturnType<typeof reportOf>
