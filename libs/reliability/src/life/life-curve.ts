/** The life curve of a kind of part, as it is shown: what was seen (Kaplan–Meier) and what a Weibull says of it, both with limits. */
import { survivalCurve, type SurvivalRow } from './kaplan-meier.js'
import { prepareLife, type LifeData } from './life-data.js'
import { usableRecords, type PartRecord } from './part-records.js'
import { type Banded, ageBand, survivalBand } from './weibull-bands.js'
import { fitPrepared, type NoFit, type WeibullFit } from './weibull-fit.js'
import { type Limits, scaleProfileLimits, shapeProfileLimits } from './weibull-intervals.js'

export interface SeenRow {
  /** Unit of the records. */
  age: number
  atRisk: number
  failed: number
  /** Of those good at `seenFrom`. */
  stillGood: number
  /** 95 %, on the scale of log(−log). null where every watched part had failed. */
  low: number | null
  high: number | null
}

export interface FittedCurve {
  /** Profile limits, 95 %; null: the data set none on that side. */
  shape: { value: number; low: number | null; high: number | null }
  scale: { value: number; low: number | null; high: number | null }
  /** Age by which 10 and 50 % have failed. */
  tenPercent: Banded
  half: Banded
  points: { age: number; stillGood: number; low: number; high: number }[]
}

export interface LifeCurve {
  /** Records that took part. */
  parts: number
  failures: number
  withoutAge: number
  beforeRegistration: number
  oldest: number
  /** Age from which enough parts were watched: 0 where all were seen from new. What was seen is told of parts good at it. */
  seenFrom: number
  seen: SeenRow[]
  fit: FittedCurve | null
  noFit: NoFit | null
}

/** Parts that came under observation late: one of two watched ones that fails would take the curve to a half, or to nothing, for good. */
const FEWEST_WATCHED = 5
const POINTS = 60

/** The age at which at least five were watched for the first time. */
function watchedFrom({ time, entry }: LifeData): number {
  if (!entry) return 0
  const ages = Array.from(entry, (age, index) => ({ age, end: time[index] as number })).sort((a, b) => a.age - b.age)
  let watched: number[] = []
  for (const { age, end } of ages) {
    watched = [...watched.filter((one) => one > age), end]
    if (watched.length >= FEWEST_WATCHED) return age
  }
  return 0
}

/** Rows that were watched beyond an age, as entering at it. */
function goodAt(data: LifeData, from: number): LifeData {
  if (from === 0 || !data.entry) return data
  const rows = Array.from(data.time, (time, index) => ({
    time,
    failed: data.failed[index] as number,
    entry: Math.max(from, data.entry?.[index] as number),
  })).filter(({ time }) => time > from)
  return { time: rows.map(({ time }) => time), failed: rows.map(({ failed }) => failed), entry: rows.map(({ entry }) => entry) }
}

const seenRow = ({ time, atRisk, failed, survival, logLog95: [low, high] }: SurvivalRow): SeenRow => ({
  age: time,
  atRisk,
  failed,
  stillGood: survival,
  low,
  high,
})

function fittedCurve(life: ReturnType<typeof prepareLife>, fit: WeibullFit, oldest: number): FittedCurve {
  const limited = (value: number, [low, high]: Limits) => ({ value, low, high })
  return {
    shape: limited(fit.shape, shapeProfileLimits(life, fit, 0.95)),
    scale: limited(fit.scale, scaleProfileLimits(life, fit, 0.95)),
    tenPercent: ageBand(fit, 0.1),
    half: ageBand(fit, 0.5),
    points: Array.from({ length: POINTS }, (_, index) => {
      const age = (oldest * (index + 1)) / POINTS
      const { value, low, high } = survivalBand(fit, age)
      return { age, stillGood: value, low, high }
    }),
  }
}

/**
 * What is on record of a kind of part, as a curve of the share still good by age. The Weibull is fitted to the data alone,
 * by maximum likelihood; it is drawn to the oldest age seen and no further.
 * Parts that were old when registered enter late (left truncation); where at first fewer than five were watched, what was seen
 * is told of parts good at the age from which five were. Source: Klein & Moeschberger, Survival Analysis, 2nd ed. 2003, section 4.6.
 * @param records ages in one unit; the list is left as it is   @param oldListComplete as in `usableRecords`
 */
export function lifeCurve(records: readonly PartRecord[], oldListComplete = false): LifeCurve {
  const { data, withoutAge, beforeRegistration } = usableRecords(records, oldListComplete)
  const left = { withoutAge, beforeRegistration }
  if (data.time.length === 0) return { ...left, parts: 0, failures: 0, oldest: 0, seenFrom: 0, seen: [], fit: null, noFit: 'no-failures' }
  const life = prepareLife(data)
  const seenFrom = watchedFrom(data)
  const watched = goodAt(data, seenFrom)
  const { rows, oldest } = survivalCurve(data)
  const fit = fitPrepared(life)
  return {
    ...left,
    parts: life.parts,
    failures: life.failures,
    oldest,
    seenFrom,
    seen: (seenFrom === 0 ? rows : survivalCurve(watched).rows).map(seenRow),
    fit: fit.finite ? fittedCurve(life, fit, oldest) : null,
    noFit: fit.finite ? null : fit.reason,
  }
}
