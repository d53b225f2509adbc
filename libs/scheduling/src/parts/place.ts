/** Where a part may be needed: one component of one machine, with everything that may bring its replacement. */
import { addedHazard, anyCause, meanLife, normalCdf, normalQuantile, type Place } from '@tapewarden/reliability'
import type { Day } from '../model.js'
import type { LifeOfComponent } from '../planning/input.js'

/** A task that takes the part: its range of days, or one day for all three where it is open. */
export interface TaskThatTakes {
  taskName: string
  early: Day | null
  likely: Day
  late: Day | null
  noLaterThan: Day | null
}

/** Failure of the part itself. */
export interface PartMayFail {
  /** null: not known; then it fails at the mean rate of a fleet of mixed ages. */
  ageYears: number | null
  life: LifeOfComponent
}

export interface PartPlace {
  machineId: string
  labelCode: string
  /** Pieces that one replacement takes. */
  quantity: number
  tasks: readonly TaskThatTakes[]
  mayFail: PartMayFail | null
}

/** Share of what is not known of a date that all machines of a warehouse have in common: season, common parameters (assumption). */
const SHARED = 0.5
const [BY_SHARED, BY_OWN] = [Math.sqrt(SHARED), Math.sqrt(1 - SHARED)]
/** Early and late are the 10 % and 90 % points. */
const TENTH = normalQuantile(0.9)
const YEAR_DAYS = 365.25

const scores = new Map<number, number>()
/** The shared level as a standard normal score; few levels are ever asked for. */
function scoreOf(level: number): number {
  const known = scores.get(level)
  if (known !== undefined) return known
  const score = normalQuantile(level)
  if (scores.size < 100) scores.set(level, score)
  return score
}

/** A side that is not told is as wide as the other. */
function widthsOf({ early, likely, late }: TaskThatTakes): [number, number] {
  const before = early === null ? null : Math.max(0, likely - early)
  const after = late === null ? null : Math.max(0, late - likely)
  return [before ?? after ?? 0, after ?? before ?? 0]
}

/**
 * Chance that the task has fallen due on `day` or before, given the shared level: a normal with a half of its own on either
 * side of the likely day, of whose variance a half is shared (one-factor model; Vasicek 2002, Loan portfolio value, Risk 15(12)).
 */
export function chanceTakenBy(task: TaskThatTakes, day: Day, level: number): number {
  if (task.noLaterThan !== null && day >= task.noLaterThan) return 1
  const [before, after] = widthsOf(task)
  const width = day < task.likely ? before : after
  if (width === 0) return day < task.likely ? 0 : 1
  const score = ((day - task.likely) / width) * TENTH
  return normalCdf((score + BY_SHARED * scoreOf(level)) / BY_OWN)
}

/**
 * Chance that a part in place fails within so many days; the common error of the scale rises and falls with the shared level.
 * The hazard at the most credible scale is worked out once a day asked for: the level only multiplies it.
 */
function failing({ ageYears, life }: PartMayFail): (days: number, level: number) => number {
  const logSd = life.logCovariance ? Math.sqrt(life.logCovariance[1][1]) : 0
  const weibull = { shape: life.shape, scale: life.scaleYears }
  const mean = meanLife(weibull)
  const known = new Map<number, number>()
  const hazardOf = (days: number): number => {
    const years = Math.max(0, days) / YEAR_DAYS
    return ageYears === null ? years / mean : addedHazard(weibull, ageYears, years)
  }
  return (days, level) => {
    const hazard = known.get(days) ?? hazardOf(days)
    known.set(days, hazard)
    // A scale shorter by a factor makes every hazard larger by its power of the shape, and the mean life shorter by the factor itself.
    const factor = Math.exp(logSd * scoreOf(level) * (ageYears === null ? 1 : life.shape))
    return -Math.expm1(-hazard * factor)
  }
}

/** The place as the mathematics of demand wants it: needed before the end of so many days, today being the first. What arrives on a day serves that day. */
export function placeOf({ quantity, tasks, mayFail }: PartPlace, today: Day): Place {
  const failed = mayFail ? failing(mayFail) : null
  return {
    quantity,
    chanceWithin: (days, level) =>
      anyCause([...tasks.map((task) => chanceTakenBy(task, today + Math.ceil(days) - 1, level)), ...(failed ? [failed(days, level)] : [])]),
  }
}
