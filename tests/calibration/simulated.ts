/** One machine of a simulated warehouse: its truths, what is on record of it, and the clocks that run. */
import { Books, type PartOnRecord } from './books.js'
import { type Cycle, newCycle } from './cycles.js'
import type { Dice } from './random.js'
import { STRIPS_TYPE } from './tasks.js'
import type { SimulatedWarehouse } from './truth-calendar.js'
import { type EvidenceState, freshState } from './truth-evidence.js'
import { trueLookAge } from './truth-life.js'
import { FAILED_FRACTION, USAGE_AMOUNT } from './tasks.js'
import {
  bladeLifeYears,
  BRUSH_PLAN_LIMIT_MM,
  type BrushSet,
  type EvidenceHabit,
  makeBrushSet,
  makeMachine,
  type SimulatedMachine,
  stripsBefore,
  trueDay,
  TYPE_LEVELS,
} from './truth-machine.js'

export const YEAR_DAYS = 365.25
/** Ordinary working days of a year by which the trade's years become strips. */
const WORKING_DAYS = 250
/** Days simulated beyond the last forecast, so that its truth is known. */
export const BEYOND_DAYS = 5 * 365

interface TrueBrushes {
  set: BrushSet
  /** Strips on it at the end of `sinceDay`. */
  before: number
  sinceDay: number
  record: PartOnRecord
}

interface TrueBlade {
  newOn: number
  failsOn: number | null
  record: PartOnRecord
}

export interface Removal {
  newOn: number | null
  fittedOn: number | null
  registeredOn: number
  removedOn: number
  failed: boolean
}

export class Simulated {
  readonly truth: SimulatedMachine
  readonly books: Books
  readonly evidence: EvidenceState
  readonly removals: Removal[] = []
  brushes: TrueBrushes
  blade: TrueBlade
  usage: Cycle | null = null
  wear: Cycle
  life: Cycle | null = null
  readonly wearFactor: number
  /** No pass can decide anything about it before this day unless new evidence comes. */
  quietUntil = 0
  private parts = 0
  private readonly lastInterval: { usage: number | null; wear: number | null; life: number | null } = {
    usage: null,
    wear: null,
    life: null,
  }

  constructor(
    readonly dice: Dice,
    readonly warehouse: SimulatedWarehouse,
    readonly habit: EvidenceHabit,
    readonly typeIndex: number,
    index: number,
    readonly startOn: number,
    days: number,
  ) {
    this.truth = makeMachine(dice, warehouse, typeIndex, habit, startOn, days + BEYOND_DAYS)
    this.evidence = freshState(dice)
    this.wearFactor = Math.exp(dice.normal(0, 1 / 3))
    const set = makeBrushSet(dice, this.wearFactor)
    const brushes = this.part(null, null)
    this.brushes = { set, before: dice.between(0, 0.6) * set.strippedAt(BRUSH_PLAN_LIMIT_MM), sinceDay: startOn - 1, record: brushes }
    this.blade = this.firstBlade()
    const counter = habit === 'counter_weekly' || habit === 'counter_monthly'
    this.books = new Books(`machine ${index}`, typeIndex, startOn, counter, `station ${index}`, brushes, this.blade.record)
    this.wear = this.wearCycle(false)
  }

  private part(newOn: number | null, fittedOn: number | null): PartOnRecord {
    return { componentId: `part ${this.parts++} of ${this.truth.firstDay} ${this.dice.whole(0, 1e9)}`, newOn, fittedOn, lengths: [] }
  }

  /** Blades have been renewed since the machine was new; machines whose type counts in strips come new. */
  private firstBlade(): TrueBlade {
    const { startOn, dice } = this
    if (this.typeIndex === STRIPS_TYPE) return this.bladeFrom(startOn - 1, startOn - 1)
    let newOn = startOn - Math.round(dice.between(0, 12) * YEAR_DAYS)
    let failsOn = newOn + Math.ceil(bladeLifeYears(dice) * YEAR_DAYS)
    while (failsOn <= startOn) [newOn, failsOn] = [failsOn, failsOn + Math.ceil(bladeLifeYears(dice) * YEAR_DAYS)]
    return { newOn, failsOn, record: this.part(dice.chance(0.2) ? null : newOn, null) }
  }

  private bladeFrom(newOn: number, fittedOn: number): TrueBlade {
    const years = bladeLifeYears(this.dice)
    const failsOn =
      this.typeIndex === STRIPS_TYPE ? trueDay(this.truth, fittedOn, this.stripsOfYears(years)) : newOn + Math.ceil(years * YEAR_DAYS)
    return { newOn, failsOn, record: this.part(newOn, fittedOn) }
  }

  private stripsOfYears(years: number): number {
    return years * (TYPE_LEVELS[this.typeIndex] ?? 0) * WORKING_DAYS
  }

  stripsOnBrushes(endOfDay: number): number {
    return this.brushes.before + stripsBefore(this.truth, endOfDay + 1) - stripsBefore(this.truth, this.brushes.sinceDay + 1)
  }

  private wearCycle(resetKnown: boolean): Cycle {
    const { set, before, sinceDay, record } = this.brushes
    const trueOn = trueDay(this.truth, sinceDay, Math.max(1, set.strippedAt(BRUSH_PLAN_LIMIT_MM) - before))
    return newCycle('wear', sinceDay, trueOn, { part: record, resetKnown, lastIntervalDays: this.lastInterval.wear })
  }

  /** @returns the cycle that ends, for its reminder to be judged */
  resetUsage(day: number): Cycle | null {
    const ended = this.usage
    this.keep(ended, 'usage')
    this.usage = newCycle('usage', day, trueDay(this.truth, day, USAGE_AMOUNT), { lastIntervalDays: this.lastInterval.usage })
    return ended
  }

  resetWear(day: number): Cycle {
    const ended = this.wear
    if (ended.resetKnown) this.keep(ended, 'wear')
    this.books.earlier.push(this.brushes.record)
    this.brushes = { set: makeBrushSet(this.dice, this.wearFactor), before: 0, sinceDay: day, record: this.part(day, day) }
    this.books.brushes = this.brushes.record
    this.wear = this.wearCycle(true)
    return ended
  }

  /** The true distribution of lives decides when a look that follows one on `day` falls due. */
  resetLife(day: number): Cycle | null {
    const ended = this.life
    this.keep(ended, 'life')
    const { newOn, record } = this.blade
    const trueOn = this.typeIndex === STRIPS_TYPE ? this.lookDueByStrips(day) : this.lookDueByYears(day, newOn)
    this.life = record.newOn === null ? null : newCycle('life', day, trueOn, { part: record, lastIntervalDays: this.lastInterval.life })
    return ended
  }

  private lookDueByYears(day: number, newOn: number): number {
    return newOn + Math.ceil(trueLookAge(Math.max(0, day - newOn) / YEAR_DAYS, FAILED_FRACTION) * YEAR_DAYS)
  }

  private lookDueByStrips(day: number): number | null {
    const fittedOn = this.blade.record.fittedOn ?? day
    const strips = stripsBefore(this.truth, day + 1) - stripsBefore(this.truth, fittedOn + 1)
    const years = strips / this.stripsOfYears(1)
    return trueDay(this.truth, day, this.stripsOfYears(trueLookAge(years, FAILED_FRACTION) - years))
  }

  newBlade(day: number): void {
    const { record, newOn } = this.blade
    this.removals.push({
      newOn: record.newOn === null ? null : newOn,
      fittedOn: record.fittedOn,
      registeredOn: this.startOn,
      removedOn: day,
      failed: true,
    })
    this.blade = this.bladeFrom(day, day)
    this.books.blade = this.blade.record
  }

  private keep(cycle: Cycle | null, trigger: 'usage' | 'wear' | 'life'): void {
    if (cycle?.trueOn) this.lastInterval[trigger] = cycle.trueOn - cycle.resetOn
  }
}
