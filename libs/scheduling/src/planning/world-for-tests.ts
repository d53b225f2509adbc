/** A warehouse in memory: plans day by day, carries out what the planner decides, and records what was said. */
import type { MachineStatus, ReminderStage } from '@tapewarden/shared'
import type {
  ComponentInPlace,
  Day,
  LastDone,
  MachinePlan,
  MachineToPlan,
  MachineTypeFacts,
  NewestOccurrence,
  OccurrenceChange,
  OpenOccurrence,
  PlanTask,
  TaskForecast,
  UsageInterval,
  WarehouseCalendar,
} from '../model.js'
import { dateOf, dayOf } from '../time/day.js'
import { completeTask, type TaskCompletion } from './complete-task.js'
import { planMachines } from './plan-machines.js'
import { TYPE, WORKED_CASES_CALENDAR } from './plans-for-tests.js'

export interface Said {
  on: string
  machineId: string
  task: string
  sequence: number
  stage: ReminderStage
  told: string
  class: string
}

interface Ended {
  task: string
  sequence: number
  on: string
  state: 'done' | 'skipped' | 'superseded'
  reason: string
  missed: boolean
}

interface Living {
  machine: MachineToPlan
  open: Record<string, OpenOccurrence>
  newest: Record<string, NewestOccurrence>
  lastDone: Record<string, LastDone>
  sequences: Record<string, number>
}

export class World {
  tasks: PlanTask[]
  calendar: WarehouseCalendar
  types: Record<string, MachineTypeFacts> = { type: TYPE }
  leadDays = 7
  today: Day = 0
  readonly said: Said[] = []
  readonly ended: Ended[] = []
  plans: MachinePlan[] = []
  private readonly machines = new Map<string, Living>()
  private ids = 0

  constructor(tasks: PlanTask[], calendar: WarehouseCalendar = WORKED_CASES_CALENDAR) {
    this.tasks = tasks
    this.calendar = calendar
  }

  add(machineId: string, more: Partial<MachineToPlan> & { last?: Record<string, string> } = {}): this {
    const { last, ...facts } = more
    const lastDone: Record<string, LastDone> = {}
    for (const [task, date] of Object.entries(last ?? {}))
      lastDone[task] = { doneOn: dayOf(date), anchorOn: dayOf(date), anchorSteps: 0, stripsTotal: facts.stripsTotal ?? null }
    const machine: MachineToPlan = {
      machineId,
      machineTypeId: 'type',
      status: 'in_service',
      statusSince: dayOf('2020-01-01'),
      registeredOn: dayOf('2020-01-01'),
      commissionedOn: null,
      line: 'A',
      walkingOrder: 1,
      stripsTotal: 0,
      hasCounter: true,
      usage: [],
      lastDone: {},
      open: {},
      sequences: {},
      newest: {},
      skipped: {},
      components: [],
      findings: [],
      situations: [],
      ...facts,
    }
    this.machines.set(machineId, { machine, open: {}, newest: {}, lastDone: { ...lastDone, ...facts.lastDone }, sequences: {} })
    return this
  }

  change(machineId: string, change: Partial<MachineToPlan>): void {
    const living = this.living(machineId)
    living.machine = { ...living.machine, ...change }
  }

  setLast(machineId: string, task: string, change: Partial<LastDone>): void {
    const living = this.living(machineId)
    living.lastDone[task] = { ...(living.lastDone[task] as LastDone), ...change }
  }

  /** What was done to a part that is no longer in place. */
  forget(machineId: string, task: string): void {
    delete this.living(machineId).lastDone[task]
  }

  /** Strips on every working day from `from` to `to`, as a counter would give them. */
  use(machineId: string, from: string, to: string, stripsPerDay: number, kind: UsageInterval['kind'] = 'strips'): void {
    const living = this.living(machineId)
    const usage = [...living.machine.usage]
    let total = living.machine.stripsTotal
    for (let day = dayOf(from); day <= dayOf(to); day++) {
      const weekday = ((day + 3) % 7) + 1
      const strips = weekday <= 5 && !this.calendar.closures.some((closure) => day >= closure.from && day <= closure.to) ? stripsPerDay : 0
      if (strips > 0) usage.push({ from: day, to: day, strips, kind, relativeError: 0 })
      total += strips
    }
    living.machine = { ...living.machine, usage, stripsTotal: total }
  }

  /** As the api writes it: coming back is a situation. */
  setStatus(machineId: string, status: MachineStatus, date: string): void {
    const { situations } = this.living(machineId).machine
    const back = status === 'in_service' ? [...situations, { kind: 'back_in_service' as const, on: dayOf(date) }] : situations
    this.change(machineId, { status, statusSince: dayOf(date), situations: back })
  }

  input(): Parameters<typeof planMachines>[0] {
    const machines = [...this.machines.values()].map(({ machine, ...state }) => ({ ...machine, ...state }))
    return {
      today: this.today,
      calendar: this.calendar,
      leadDays: this.leadDays,
      types: this.types,
      tasksByType: { type: this.tasks },
      machines,
      life: {},
    }
  }

  /** One planning pass on a date, carried out. @returns the changes of all machines */
  plan(date: string | Day): OccurrenceChange[] {
    this.today = typeof date === 'string' ? dayOf(date) : date
    this.plans = planMachines(structuredClone(this.input()))
    for (const plan of this.plans) for (const change of [...plan.changes].sort(endingsFirst)) this.apply(plan.machineId, change)
    return this.plans.flatMap(({ changes }) => changes)
  }

  /** Planned every day from..to, both included. */
  planDaily(from: string, to: string): void {
    for (let day = dayOf(from); day <= dayOf(to); day++) this.plan(day)
  }

  forecast(task: string, machineId = this.only()): TaskForecast {
    const found = this.plans.find((plan) => plan.machineId === machineId)?.forecasts.find(({ serviceTaskId }) => serviceTaskId === task)
    if (!found) throw new Error(`no forecast of ${task}`)
    return found
  }

  open(task: string, machineId = this.only()): OpenOccurrence | null {
    return this.living(machineId).open[task] ?? null
  }

  /** The open occurrence's days in words. */
  days(task: string, machineId = this.only()): Record<string, string | null> {
    const open = this.open(task, machineId)
    if (!open) throw new Error(`nothing open for ${task}`)
    const text = (day: Day | null): string | null => (day === null ? null : dateOf(day))
    return {
      opened: text(open.openedOn),
      nominal: text(open.nominalOn),
      from: text(open.windowFrom),
      to: text(open.windowTo),
      hard: text(open.hardLimitOn),
      due: text(open.dueOn),
      late: text(open.lateFrom),
    }
  }

  finish(task: string, date: string, more: Partial<Parameters<typeof completeTask>[0]> = {}, machineId = this.only()): TaskCompletion {
    const living = this.living(machineId)
    const open = living.open[task]
    const planTask = this.tasks.find(({ serviceTaskId }) => serviceTaskId === task) as PlanTask
    const completion = completeTask({
      task: planTask,
      doneOn: dayOf(date),
      last: living.lastDone[task] ?? null,
      newOn: null,
      forecast: null,
      occurrence: open ? { ...open, state: 'open' } : null,
      fittedComponentKey: null,
      measured: [],
      units: 'si',
      ...more,
    })
    const { record } = completion
    if (record.settles) {
      const { useAnchor, ...kept } = record
      const before = living.lastDone[task]
      const stripsTotal = useAnchor && useAnchor.on === before?.useAnchor?.on ? before.useAnchor.stripsTotal : (before?.stripsTotal ?? null)
      living.lastDone[task] = {
        ...kept,
        stripsTotal: living.machine.stripsTotal,
        ...(useAnchor ? { useAnchor: { ...useAnchor, stripsTotal } } : {}),
      }
    }
    if (completion.settlesOccurrenceId && open) this.end(living, task, open, { on: dayOf(date), state: 'done', reason: '', missed: false })
    this.afterwards(machineId, task, completion)
    return completion
  }

  private afterwards(machineId: string, task: string, completion: TaskCompletion): void {
    const { machine } = this.living(machineId)
    const upTo = completion.settlesFindingsUpTo
    const kept = machine.findings.filter((finding) => !(finding.serviceTaskId === task && upTo !== null && finding.foundOn <= upTo))
    const arisen = completion.findings.map((finding, index) => ({
      findingId: `finding ${this.ids++} ${index}`,
      serviceTaskId: finding.taskKey,
      foundOn: finding.foundOn,
      dueOn: finding.dueOn,
      withinDays: null,
      safety: false,
      text: finding.text,
    }))
    this.change(machineId, { findings: [...kept, ...arisen], situations: [...machine.situations, ...completion.situations] })
  }

  skip(task: string, date: string, machineId = this.only()): void {
    const living = this.living(machineId)
    const skipped = { endedOn: dayOf(date), nominalOn: (living.open[task] as OpenOccurrence).nominalOn }
    living.machine = { ...living.machine, skipped: { ...living.machine.skipped, [task]: skipped } }
    this.end(living, task, living.open[task] as OpenOccurrence, { on: dayOf(date), state: 'skipped', reason: 'skipped', missed: false })
  }

  /** Rule 11, as the api writes it: superseded, and the next number with the new date as due date and window end. */
  putOff(task: string, date: string, until: string, newHardLimit: string | null = null, machineId = this.only()): void {
    const living = this.living(machineId)
    const open = living.open[task] as OpenOccurrence
    this.end(living, task, open, { on: dayOf(date), state: 'superseded', reason: 'put off', missed: false })
    const day = dayOf(until)
    const sequence = open.sequence + 1
    living.sequences[task] = sequence
    living.open[task] = {
      ...open,
      id: `occurrence ${this.ids++}`,
      sequence,
      kind: 'put_off',
      openedOn: dayOf(date),
      dueOn: day,
      windowTo: day,
      lateFrom: day + 1,
      hardLimitOn: newHardLimit === null ? open.hardLimitOn : dayOf(newHardLimit),
      saidOn: null,
      saidDueOn: null,
      saidStages: [],
    }
    living.newest[task] = { sequence, state: 'open', kind: 'put_off', endedOn: null, nominalOn: open.nominalOn }
  }

  underWay(task: string, since: string | null, lastEntry: string | null = since, machineId = this.only()): void {
    const living = this.living(machineId)
    const open = living.open[task] as OpenOccurrence
    living.open[task] = {
      ...open,
      underWaySince: since === null ? null : dayOf(since),
      lastEntryOn: lastEntry === null ? null : dayOf(lastEntry),
    }
  }

  fit(machineId: string, component: Partial<ComponentInPlace> & { componentId: string; componentKey: string }): void {
    const { components } = this.living(machineId).machine
    const fresh: ComponentInPlace = {
      newOn: null,
      fittedOn: null,
      usedStripsBefore: 0,
      stripsTotalAtFitting: null,
      lengths: [],
      ...component,
    }
    this.change(machineId, { components: [...components.filter(({ componentKey }) => componentKey !== fresh.componentKey), fresh] })
  }

  sayings(stage?: ReminderStage): string[] {
    return this.said.filter((one) => stage === undefined || one.stage === stage).map(({ on, stage: said, told }) => `${on} ${said} ${told}`)
  }

  private only(): string {
    return this.machines.keys().next().value as string
  }

  private living(machineId: string): Living {
    return this.machines.get(machineId) as Living
  }

  private end(
    living: Living,
    task: string,
    open: OpenOccurrence,
    { on, state, reason, missed }: Omit<Ended, 'task' | 'sequence' | 'on'> & { on: Day },
  ): void {
    delete living.open[task]
    this.ended.push({ task, sequence: open.sequence, on: dateOf(on), state, reason, missed })
    living.newest[task] = { sequence: open.sequence, state, kind: open.kind, endedOn: on, nominalOn: open.nominalOn }
  }

  private apply(machineId: string, change: OccurrenceChange): void {
    const living = this.living(machineId)
    if (change.do === 'open') return this.applyOpen(machineId, living, change)
    const [task, open] = Object.entries(living.open).find(([, { id }]) => id === change.occurrenceId) ?? []
    if (!task || !open) throw new Error(`change of an occurrence that is not open: ${change.do}`)
    if (change.do === 'supersede')
      return this.end(living, task, open, { on: this.today, state: 'superseded', reason: change.reason, missed: change.missed })
    const dates = change.do === 'redate' ? pickDates(change) : {}
    living.open[task] = { ...open, ...dates }
    this.tell(machineId, task, change.say)
  }

  private applyOpen(machineId: string, living: Living, change: Extract<OccurrenceChange, { do: 'open' }>): void {
    const task = change.serviceTaskId
    if (living.open[task]) throw new Error(`${task} is open already`)
    if (change.sequence <= (living.sequences[task] ?? 0)) throw new Error(`number ${change.sequence} of ${task} is taken`)
    living.sequences[task] = change.sequence
    living.open[task] = {
      id: `occurrence ${this.ids++}`,
      sequence: change.sequence,
      kind: change.kind,
      openedOn: this.today,
      ...pickDates(change),
      saidOn: null,
      saidDueOn: null,
      saidStages: [],
      underWaySince: null,
      lastEntryOn: null,
      componentId: change.componentId,
    }
    living.newest[task] = { sequence: change.sequence, state: 'open', kind: change.kind, endedOn: null, nominalOn: change.nominalOn }
    this.tell(machineId, task, change.say)
  }

  private tell(machineId: string, task: string, say: Extract<OccurrenceChange, { do: 'say' }>['say']): void {
    const living = this.living(machineId)
    for (const one of say) {
      const open = living.open[task] as OpenOccurrence
      const again = one.stage === 'earlier_than_said'
      living.open[task] = {
        ...open,
        saidStages: [...new Set([...open.saidStages, one.stage])],
        ...(open.saidOn === null || again ? { saidOn: this.today, saidDueOn: open.dueOn } : {}),
      }
      this.said.push({
        on: dateOf(one.sayOn),
        machineId,
        task,
        sequence: open.sequence,
        stage: one.stage,
        told: one.told,
        class: one.class,
      })
    }
  }
}

const endingsFirst = (a: OccurrenceChange, b: OccurrenceChange): number => Number(b.do === 'supersede') - Number(a.do === 'supersede')

type Dates = Pick<OpenOccurrence, 'nominalOn' | 'windowFrom' | 'windowTo' | 'hardLimitOn' | 'dueOn' | 'lateFrom' | 'governing'>
const pickDates = ({ nominalOn, windowFrom, windowTo, hardLimitOn, dueOn, lateFrom, governing }: Dates): Dates => ({
  nominalOn,
  windowFrom,
  windowTo,
  hardLimitOn,
  dueOn,
  lateFrom,
  governing,
})
