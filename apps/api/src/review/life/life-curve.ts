/** The life curve of a kind of part: the same records as the dates are worked out with, in strips where they are known, else in months. */
import { lifeOf, partRecordOf, TRADE_RANGES } from '@tapewarden/persistence'
import { ageAtFailedFraction, lifeCurve as curveOf, type LifeCurve, type PartRecord } from '@tapewarden/reliability'
import { dayOf } from '@tapewarden/scheduling'
import type { LifeCurveAnswer, LifePart, LifeUnit, RouteQuery, Routes } from '@tapewarden/shared'
import { earliestToday, localDateOf } from '../../use/local-day.js'
import { requireWarehouse } from '../../use/reach.js'
import type { Reading } from '../../use/work.js'
import { FEWEST } from '../estimates.js'
import { kindsOnRecord, type LifeRow, lifeRows } from './life-rows.js'
import { hiddenReason, lifeSentences, noFitReason } from './life-words.js'

interface Told {
  row: LifeRow
  inYears: PartRecord
  inMonths: PartRecord
  inStrips: PartRecord
}

const times = (age: number | null, factor: number): number | null => (age === null ? null : age * factor)

function told(row: LifeRow, now: Date): Told {
  const inYears = partRecordOf(row, dayOf(localDateOf(now, row.zone ?? 'UTC')))
  const known = inYears.age !== null && row.useKnown
  // Watched from its registration on; what it had done by then is the age at which it enters.
  const entry = Math.min(row.stripsAtEntry, row.strips)
  return {
    row,
    inYears,
    inMonths: { ...inYears, age: times(inYears.age, 12), ageAtRegistration: inYears.ageAtRegistration * 12 },
    inStrips: { ...inYears, age: known ? row.strips : null, ageAtRegistration: known ? entry : 0 },
  }
}

const recordIn = (unit: LifeUnit) => (one: Told) => (unit === 'strips' ? one.inStrips : one.inMonths)

function placeOf(one: Told, unit: LifeUnit): Pick<LifePart, 'counted' | 'leftOutReason'> {
  const record = recordIn(unit)(one)
  const out = (leftOutReason: string) => ({ counted: 'left_out' as const, leftOutReason })
  if (one.inMonths.age === null) return out('Nobody knows when it was new.')
  if (record.age === null) return out('Its strips are not known from its first day on.')
  if (record.removedBeforeRegistration) return out('Removed before its machine was registered.')
  if (record.age === 0 || record.ageAtRegistration === record.age) return out('It has done nothing yet since it was registered.')
  return { counted: record.failed ? 'failed' : 'good_so_far', leftOutReason: null }
}

function partOf(one: Told, unit: LifeUnit): LifePart {
  const { row, inMonths, inStrips } = one
  return {
    componentId: row.componentId,
    machineId: row.machineId,
    labelCode: row.labelCode,
    typeName: row.typeName,
    newOn: row.new_on,
    removedOn: row.removed_on,
    removalReason: row.reason,
    ageMonths: inMonths.age,
    strips: inStrips.age,
    ...placeOf(one, unit),
  }
}

const WEIGHT = { failed: 0, good_so_far: 1, left_out: 2 } as const
/** What failed first, each with the oldest first. */
const byWeight =
  (unit: LifeUnit) =>
  (a: LifePart, b: LifePart): number => {
    const age = (part: LifePart) => (unit === 'strips' ? part.strips : part.ageMonths) ?? 0
    return WEIGHT[a.counted] - WEIGHT[b.counted] || age(b) - age(a) || a.labelCode.localeCompare(b.labelCode)
  }

function datesUse(rows: readonly LifeRow[], componentKey: string, today: string): LifeCurveAnswer['datesUse'] {
  const range = TRADE_RANGES[componentKey]
  if (!range) return null
  const { shape, scaleYears } = lifeOf(rows, range, dayOf(today))
  const by = (share: number) => 12 * ageAtFailedFraction({ shape, scale: scaleYears }, share)
  return { shape, scaleMonths: 12 * scaleYears, tenPercentMonths: by(0.1), halfMonths: by(0.5) }
}

export async function lifeCurve(reading: Reading, query: RouteQuery<Routes['lifeCurve']>): Promise<LifeCurveAnswer> {
  const { componentKey, machineTypeId, warehouseId, limit } = query
  if (warehouseId !== undefined) requireWarehouse(reading.who, warehouseId)
  const today = await earliestToday(reading)
  const all = await lifeRows(reading, componentKey, today)
  const components = await kindsOnRecord(reading)
  const reach = reading.who.warehouseIds
  const asked = all
    .filter(
      (row) =>
        (reach === null || (row.warehouseId !== null && reach.includes(row.warehouseId))) &&
        (warehouseId === undefined || row.warehouseId === warehouseId) &&
        (machineTypeId === undefined || row.machineTypeId === machineTypeId),
    )
    .map((row) => told(row, reading.now))
  const curves = { strips: curveOf(asked.map(recordIn('strips'))), months: curveOf(asked.map(recordIn('months'))) }
  const unit = query.unit ?? (curves.strips.failures >= FEWEST ? 'strips' : 'months')
  const use = datesUse(all, componentKey, today)
  return {
    ...shown(curves[unit], unit, use),
    componentKey,
    componentName: components.find(({ key }) => key === componentKey)?.name ?? componentKey.replaceAll('_', ' '),
    components,
    counts: {
      onRecord: asked.length,
      parts: curves[unit].parts,
      failures: curves[unit].failures,
      withoutAge: curves[unit].withoutAge,
      beforeRegistration: curves[unit].beforeRegistration,
      failuresByUnit: { strips: curves.strips.failures, months: curves.months.failures },
    },
    parts: asked
      .map((one) => partOf(one, unit))
      .sort(byWeight(unit))
      .slice(0, limit),
  }
}

function shown(
  curve: LifeCurve,
  unit: LifeUnit,
  use: LifeCurveAnswer['datesUse'],
): Pick<LifeCurveAnswer, 'unit' | 'sentences' | 'hiddenReason' | 'oldest' | 'seenFrom' | 'seen' | 'fit' | 'noFitReason' | 'datesUse'> {
  const hidden = hiddenReason(curve, unit)
  return {
    unit,
    sentences: lifeSentences(curve, unit, use),
    hiddenReason: hidden,
    oldest: curve.oldest,
    seenFrom: curve.seenFrom,
    seen: hidden === null ? curve.seen : [],
    fit: hidden === null ? curve.fit : null,
    noFitReason: noFitReason(curve),
    datesUse: use,
  }
}
