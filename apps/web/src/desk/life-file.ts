/** The life curve as a file: the numbers of the screen, unrounded. Pure. */
import type { FileAnswer, LifeCurveAnswer } from '@tapewarden/shared'
import { type Cell, csvFile } from '../ui/csv.js'

function fitRows({ fit, unit }: LifeCurveAnswer): Cell[][] {
  if (!fit) return []
  const limited = (name: string, { value, low, high }: { value: number; low: number | null; high: number | null }): Cell[] => [
    name,
    value,
    low,
    high,
  ]
  return [
    ['Fitted', 'value', 'low', 'high'],
    limited('Shape', fit.shape),
    limited(`Scale, ${unit}`, fit.scale),
    limited(`A tenth failed by, ${unit}`, fit.tenPercent),
    limited(`Half failed by, ${unit}`, fit.half),
    [],
    [`Fitted at age, ${unit}`, 'Still good', 'low', 'high'],
    ...fit.points.map(({ age, stillGood, low, high }) => [age, stillGood, low, high]),
    [],
  ]
}

export function lifeFile(life: LifeCurveAnswer): FileAnswer {
  return csvFile(`life of ${life.componentKey} in ${life.unit}.csv`, [
    [`Seen at age, ${life.unit}`, 'Watched', 'Failed', 'Still good', 'low', 'high'],
    ...life.seen.map(({ age, atRisk, failed, stillGood, low, high }) => [age, atRisk, failed, stillGood, low, high]),
    [],
    ...fitRows(life),
    ['Machine', 'Type', 'New on', 'Taken out', 'Why', 'Months', 'Strips', 'Counts as', 'Why left out'],
    ...life.parts.map((part) => [
      part.labelCode,
      part.typeName,
      part.newOn,
      part.removedOn,
      part.removalReason,
      part.ageMonths,
      part.strips,
      part.counted,
      part.leftOutReason,
    ]),
  ])
}
