/**
 * Years of one simulated warehouse, an organisation of its own: each night the ledger is made from the evidence and the
 * planner runs as in the planning pass; by day people do what they were asked to, early or late; in the evening they write down.
 */
import {
  buildLedgers,
  fitWear,
  type LedgerInput,
  type LifeOfComponent,
  type MachineToPlan,
  planInContext,
  type PlanningContext,
  type PlanningInput,
  preparePlanning,
  type RawEvidence,
  stripsOfAYear,
  type TaskForecast,
  type WarehouseCalendar,
  wearRateOf,
} from '@tapewarden/scheduling'
import { estimateLife, priorFromRange } from '@tapewarden/reliability'
import { type Books, totalAt } from './books.js'
import { askCycle, type Cycle, reminderOf } from './cycles.js'
import { Dice } from './random.js'
import type { SimulationRecord } from './record.js'
import { Simulated, YEAR_DAYS } from './simulated.js'
import { BRUSH, GREASE, LOOK, MEASURE, MEASURE_WHEN_WORN, REPLACE, TASKS, TYPES, typeName } from './tasks.js'
import { isoWeekdayOf, isWorked, makeWarehouse } from './truth-calendar.js'
import { MEAN_STRIP_MM, STATED_STRIPS_PER_CARTON, writtenDown } from './truth-evidence.js'
import { BRUSH_PLAN_LIMIT_MM, type EvidenceHabit, lateness, readLength, stripsBefore } from './truth-machine.js'

const HABITS: readonly EvidenceHabit[] = [
  ...Array<EvidenceHabit>(6).fill('counter_weekly'),
  ...Array<EvidenceHabit>(6).fill('counter_monthly'),
  ...Array<EvidenceHabit>(4).fill('strips_daily'),
  ...Array<EvidenceHabit>(5).fill('cartons'),
  ...Array<EvidenceHabit>(3).fill('rolls'),
  'tap',
  'tap',
  'nothing',
  'nothing',
]
const PEOPLE_LEAD_DAYS = 7
const QUIET_MARGIN_DAYS = 4
const LEADS: Readonly<Record<string, number>> = Object.fromEntries(
  TASKS.map(({ serviceTaskId, partsLeadDays }) => [serviceTaskId, Math.max(PEOPLE_LEAD_DAYS, partsLeadDays)]),
)
/** As the planner takes it: common practice, no source. */
const BLADE_RANGE = { fivePercent: 5, ninetyFivePercent: 20 }
const INFERRED: readonly EvidenceHabit[] = ['cartons', 'rolls', 'tap']
const dayNumber = (year: number): number => Date.UTC(year, 0, 1) / 86_400_000

/** Years of the type's usual use that a blade has done; null: it lives in years, or its strips are not known. */
function stripsOn({ ledger }: Books, typeIndex: number, fittedOn: number | null, end: number): number | null {
  const facts = TYPES[typeName(typeIndex)]
  if (facts?.bladeLifeUnit !== 'strips' || fittedOn === null) return null
  const [from, to] = [totalAt(ledger.days, fittedOn), totalAt(ledger.days, end)]
  return from === null || to === null ? null : (to - from) / stripsOfAYear(facts.usualStripsPerDay)
}

export class WarehouseRun {
  readonly records: SimulationRecord[] = []
  private readonly machines: Simulated[]
  private readonly calendar: WarehouseCalendar
  private readonly evidence: RawEvidence[] = []
  /** Written down, and entered at the end of the week. */
  private readonly onPaper: RawEvidence[] = []
  private readonly delays = new Map<string, number>()
  private stale = true
  private life: Record<string, LifeOfComponent> = {}
  private readonly people: Dice
  private readonly startOn: number
  private readonly endOn: number

  constructor(
    seed: number,
    readonly cluster: string,
    years: number,
  ) {
    const dice = new Dice(seed)
    this.people = new Dice(seed ^ 0x5bd1e995)
    const firstYear = 2021
    ;[this.startOn, this.endOn] = [dayNumber(firstYear), dayNumber(firstYear + years)]
    const warehouse = makeWarehouse(dice, 'Europe/Berlin', firstYear - 1, firstYear + years + 6)
    this.machines = HABITS.map(
      (habit, index) => new Simulated(dice, warehouse, habit, dice.whole(0, 2), index, this.startOn, this.endOn - this.startOn),
    )
    this.calendar = {
      zone: warehouse.zone,
      shiftMinutes: warehouse.shiftMinutes,
      closures: warehouse.closures,
      peaks: warehouse.peaks.map(({ from, to, stated }) => ({ from, to, usageMultiplier: stated, bars: 'nothing' })),
      shifts: warehouse.shiftMinutes.flatMap((minutes, weekday) =>
        minutes === 0 ? [] : [{ weekday, startsMinute: 360, endsMinute: 360 + minutes }],
      ),
    }
  }

  run(): SimulationRecord[] {
    for (let today = this.startOn; today < this.endOn; today++) {
      this.night(today)
      this.byDay(today)
      this.evening(today)
    }
    return this.records
  }

  private names(machine: Simulated): { cluster: string; habit: string } {
    return { cluster: this.cluster, habit: machine.habit }
  }

  private night(today: number): void {
    const all = this.stale
    if (this.stale) this.rebuild(today)
    if ((today - this.startOn) % 14 === 0) this.life = this.lifeOf(today)
    const input: PlanningInput = {
      today,
      calendar: this.calendar,
      leadDays: PEOPLE_LEAD_DAYS,
      types: TYPES,
      tasksByType: Object.fromEntries(Object.keys(TYPES).map((type) => [type, TASKS])),
      machines: this.machines.map(({ books }) => books.toPlan()),
      life: this.life,
    }
    const context = preparePlanning(input)
    for (const [index, machine] of this.machines.entries()) {
      if (!all && today < machine.quietUntil) continue
      const plan = planInContext(context, input.machines[index] as MachineToPlan)
      if (plan.problem !== null) throw new Error(plan.problem)
      for (const task of machine.books.apply(plan.changes, today)) this.said(machine, task, today)
      machine.quietUntil = this.quietUntil(machine, plan.forecasts)
    }
    this.ask(context)
  }

  /**
   * Between two weeks' evidence a pass opens nothing on a machine of which no early date lies near, and hardly moves what is
   * open; such passes are left out, to save their time.
   */
  private quietUntil({ books }: Simulated, forecasts: readonly TaskForecast[]): number {
    const opens = forecasts.map(({ serviceTaskId, earlyOn, likelyOn, state }) => {
      if (books.open[serviceTaskId] || earlyOn === null) return Number.POSITIVE_INFINITY
      // It may open some time before its early date would make it.
      const before = 0.5 * ((likelyOn ?? earlyOn) - earlyOn)
      return state === 'first_look' ? 0 : earlyOn - before - (LEADS[serviceTaskId] ?? 0)
    })
    return Math.min(...opens) - QUIET_MARGIN_DAYS
  }

  private said(machine: Simulated, task: string, today: number): void {
    const cycle =
      task === GREASE.key
        ? machine.usage
        : task === REPLACE.key || task === MEASURE_WHEN_WORN.key
          ? machine.wear
          : task === LOOK.key
            ? machine.life
            : null
    if (cycle && cycle.firstSaidOn === null) cycle.firstSaidOn = today
  }

  private readonly asking = new Map<Simulated, Cycle[]>()

  /** Cycles stay in question until thirty days before their true due, also when they were reset before. */
  private ask(context: PlanningContext): void {
    const { input } = context
    for (const machine of this.machines) {
      const waiting = this.asking.get(machine) ?? []
      for (const cycle of [machine.usage, machine.wear, machine.life]) if (cycle && !waiting.includes(cycle)) waiting.push(cycle)
      const wanted = waiting.filter(
        ({ asked, resetOn, trueOn }) =>
          (!asked.reset && input.today > resetOn) || (!asked.ahead && trueOn !== null && input.today >= trueOn - 30),
      )
      for (const cycle of wanted) this.records.push(...askCycle(context, machine.books, cycle, this.names(machine)))
      this.asking.set(
        machine,
        waiting.filter(({ asked, trueOn }) => !asked.reset || (!asked.ahead && trueOn !== null && trueOn - 30 >= input.today)),
      )
    }
  }

  private rebuild(today: number): void {
    const moment = (day: number) => ({ day, minute: 0 })
    const input: LedgerInput = {
      today,
      warehouseId: 'warehouse',
      calendar: this.calendar,
      machines: this.machines.map(({ books, typeIndex }) => ({
        machineId: books.machineId,
        meanStripMm: MEAN_STRIP_MM,
        feedSpeedMPerMin: 60,
        startUpSecondsPerStrip: 0.25,
        mostStripsPerMinute: 40,
        usualStripsPerDay: TYPES[typeName(typeIndex)]?.usualStripsPerDay ?? 0,
        counterKind: books.hasCounter ? 'strips' : 'none',
        counterModulus: null,
        placements: books.placements.map(({ stationId, from, to }) => ({
          stationId,
          warehouseId: 'warehouse',
          from: moment(from),
          to: to === null ? null : moment(to),
          share: 1,
        })),
        statuses: [],
      })),
      neighbours: [],
      stripsPerCarton: Object.fromEntries(this.machines.map((_, index) => [`station ${index}`, STATED_STRIPS_PER_CARTON])),
      evidence: this.evidence,
    }
    const { machines, setAside } = buildLedgers(input)
    if (setAside.length > 0) throw new Error(`set aside: ${setAside[0]?.reason}`)
    for (const [index, ledger] of machines.entries()) (this.machines[index] as Simulated).books.ledger = ledger
    this.stale = false
  }

  /** In years; of blades that live in strips, as far as the ledger knows them, in years of their type's usual use. */
  private lifeOf(today: number): Record<string, LifeOfComponent> {
    const removed = this.machines.flatMap(({ removals }) => removals)
    const parts = this.machines.flatMap(({ books, startOn, removals, typeIndex }) => {
      const { newOn, fittedOn } = books.blade
      const all = [...removals, { newOn, fittedOn, registeredOn: startOn, removedOn: null, failed: false }]
      return all.map((part) => ({ ...part, strips: stripsOn(books, typeIndex, part.fittedOn, part.removedOn ?? today) }))
    })
    const estimate = estimateLife(
      parts.map(({ newOn, registeredOn, removedOn, failed, strips }) => ({
        age: newOn === null ? null : (strips ?? Math.max(0, (removedOn ?? today) - newOn) / YEAR_DAYS),
        ageAtRegistration:
          newOn === null || strips !== null ? 0 : Math.max(0, Math.min(registeredOn, removedOn ?? today) - newOn) / YEAR_DAYS,
        failed,
        removedBeforeRegistration: false,
      })),
      priorFromRange(BLADE_RANGE),
      false,
      BLADE_RANGE.fivePercent,
    )
    const { shape, scale, logCovariance, failures, shapeLower95 } = estimate
    return { blade: { shape, scaleYears: scale, logCovariance, removals: removed.length, failures, shapeLower95 } }
  }

  private byDay(today: number): void {
    for (const machine of this.machines) {
      if (machine.blade.failsOn !== null && machine.blade.failsOn <= today) this.breakDown(machine, today)
      if (!isWorked(machine.warehouse, today)) continue
      for (const open of Object.values(machine.books.open)) {
        const delay = this.delays.get(open.id) ?? lateness(this.people)
        this.delays.set(open.id, delay)
        if (today >= open.dueOn + delay) this.act(machine, open.id.split(' ').slice(2, -1).join(' '), today)
      }
      if (this.people.chance(1 / 1000)) this.swap(machine, today)
    }
  }

  /** Two machines change places. */
  private swap(machine: Simulated, today: number): void {
    const other = this.machines[this.people.whole(0, this.machines.length - 1)] as Simulated
    const [here, there] = [machine.books.stationId, other.books.stationId]
    if (here === there || [machine, other].some(({ books }) => books.placements.at(-1)?.from === today)) return
    machine.books.move(there, today)
    other.books.move(here, today)
  }

  private breakDown(machine: Simulated, today: number): void {
    machine.newBlade(today)
    machine.quietUntil = 0
    machine.books.forget(LOOK.key)
    this.ended(machine.resetLife(today), machine)
  }

  private act(machine: Simulated, task: string, today: number): void {
    machine.books.done(task, today)
    machine.quietUntil = 0
    if (task === GREASE.key) {
      this.useSince(machine, today)
      this.ended(machine.resetUsage(today), machine)
    } else if (task === LOOK.key) this.ended(machine.resetLife(today), machine)
    else if (task === REPLACE.key) this.renewBrushes(machine, today)
    else this.measure(machine, today)
  }

  private measure(machine: Simulated, today: number): void {
    const length = readLength(machine.dice, machine.brushes.set.lengthAt(machine.stripsOnBrushes(today)))
    machine.brushes.record.lengths.push({ on: today, lengthMm: length })
    if (length < BRUSH_PLAN_LIMIT_MM) this.renewBrushes(machine, today)
  }

  private renewBrushes(machine: Simulated, today: number): void {
    this.rate(machine, today)
    for (const task of [MEASURE, MEASURE_WHEN_WORN, REPLACE]) machine.books.forget(task.key)
    this.ended(machine.resetWear(today), machine)
  }

  /** Of a set that was fitted new here and measured one to four times: its rate as the planner and as its own points have it. */
  private rate(machine: Simulated, today: number): void {
    const plan = machine.books.toPlan()
    const { components } = plan
    const set = components.find(({ componentKey }) => componentKey === BRUSH)
    const points = set?.lengths.filter(({ usedStrips }) => usedStrips !== null && usedStrips > 0) ?? []
    const facts = TYPES[typeName(machine.typeIndex)]
    if (!set || set.newOn === null || !facts || points.length === 0 || points.length > 4) return
    const context = preparePlanning({
      today,
      calendar: this.calendar,
      leadDays: PEOPLE_LEAD_DAYS,
      types: TYPES,
      tasksByType: {},
      machines: this.machines.map(({ books }) => books.toPlan()),
      life: {},
    })
    const posterior = fitWear(set, points.at(-1)?.usedStrips ?? null, facts, wearRateOf(context, plan)!)
    if (!posterior) return
    const million = 1_000_000
    const ours = posterior.rates.reduce((sum, rate, index) => sum + rate * (posterior.weights[index] as number), 0) * million
    const own = points.reduce((sum, { lengthMm, usedStrips }) => sum + (facts.brushNewMm - lengthMm) / usedStrips!, 0) / points.length
    const { newLengthMm } = machine.brushes.set
    const trueRate = ((newLengthMm - BRUSH_PLAN_LIMIT_MM) / machine.brushes.set.strippedAt(BRUSH_PLAN_LIMIT_MM)) * million
    this.records.push({ what: 'rate', cluster: this.cluster, measurements: points.length, trueRate, ours, own: own * million })
  }

  /** Use that was inferred since the last care, against what was cut. */
  private useSince(machine: Simulated, today: number): void {
    const { usage, books, truth, habit } = machine
    if (!usage || !INFERRED.includes(habit)) return
    // Evidence in hand reaches to its last day; the comparison ends there.
    const last = books.ledger.intervals.at(-1)?.to ?? 0
    const to = Math.min(today - 1, last)
    const [before, after] = [totalAt(books.ledger.days, usage.resetOn), totalAt(books.ledger.days, to)]
    if (to <= usage.resetOn || before === null || after === null || after <= before) return
    const days = books.ledger.days.filter(({ day }) => day > usage.resetOn && day <= to)
    const strips = after - before
    const error = days.reduce((sum, day) => sum + day.relativeError * day.strips, 0) / strips
    const trueStrips = stripsBefore(truth, to + 1) - stripsBefore(truth, usage.resetOn + 1)
    const reach = Math.exp(1.6448536269514722 * error)
    this.records.push({ what: 'use', cluster: this.cluster, habit, trueStrips, strips, low: strips / reach, high: strips * reach })
  }

  private ended(cycle: Cycle | null, machine: Simulated): void {
    if (!cycle) return
    const { key } = cycle.trigger === 'wear' ? REPLACE : cycle.trigger === 'life' ? LOOK : GREASE
    const reminder = reminderOf(cycle, LEADS[key] ?? 0, this.names(machine))
    if (reminder) this.records.push(reminder)
  }

  private evening(today: number): void {
    for (const machine of this.machines) {
      const { books, truth, evidence, dice } = machine
      this.onPaper.push(...writtenDown(dice, truth, books, evidence, today))
    }
    if (isoWeekdayOf(today) !== 7) return
    this.evidence.push(...this.onPaper.splice(0))
    this.stale = true
  }
}
