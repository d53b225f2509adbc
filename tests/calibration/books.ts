/** What is on record of one simulated machine, and what the planner's decisions make of it; kept as the database would keep it. */
import {
  type ComponentInPlace,
  type LastDone,
  type LedgerDay,
  type MachineLedger,
  type MachineToPlan,
  type NewestOccurrence,
  type OccurrenceChange,
  type OpenOccurrence,
} from '@tapewarden/scheduling'
import { BLADE, BRUSH, typeName } from './tasks.js'

export interface Placement {
  stationId: string
  from: number
  to: number | null
}

export interface PartOnRecord {
  componentId: string
  newOn: number | null
  fittedOn: number | null
  lengths: { on: number; lengthMm: number }[]
}

/** Ledger total at the end of a day; the day before the ledger's first is its zero. */
export function totalAt(days: readonly LedgerDay[], day: number): number | null {
  const first = days[0]
  if (!first || day < first.day - 1) return null
  let [low, high] = [0, days.length]
  while (low < high) {
    const middle = (low + high) >> 1
    if ((days[middle] as LedgerDay).day <= day) low = middle + 1
    else high = middle
  }
  return low === 0 ? 0 : (days[low - 1] as LedgerDay).stripsTotal
}

export class Books {
  readonly lastDone: Record<string, number> = {}
  readonly open: Record<string, OpenOccurrence> = {}
  readonly newest: Record<string, NewestOccurrence> = {}
  readonly sequences: Record<string, number> = {}
  readonly placements: Placement[]
  /** Brush sets that are out again. */
  readonly earlier: PartOnRecord[] = []
  ledger: MachineLedger = { machineId: '', days: [], intervals: [], disagreements: [] }

  constructor(
    readonly machineId: string,
    readonly typeIndex: number,
    readonly registeredOn: number,
    readonly hasCounter: boolean,
    stationId: string,
    public brushes: PartOnRecord,
    public blade: PartOnRecord,
  ) {
    this.placements = [{ stationId, from: registeredOn, to: null }]
  }

  get stationId(): string {
    return (this.placements.at(-1) as Placement).stationId
  }

  move(stationId: string, day: number): void {
    ;(this.placements.at(-1) as Placement).to = day
    this.placements.push({ stationId, from: day, to: null })
  }

  private component(key: string, part: PartOnRecord): ComponentInPlace {
    const { days } = this.ledger
    const atFitting = part.fittedOn === null ? null : totalAt(days, part.fittedOn)
    const lengths = part.lengths.map(({ on, lengthMm }) => {
      const here = totalAt(days, on)
      const used = part.newOn === null || here === null || atFitting === null ? null : here - atFitting
      return { on, lengthMm, usedStrips: used, stripsTotal: here ?? 0 }
    })
    const { componentId, newOn, fittedOn } = part
    return { componentId, componentKey: key, newOn, fittedOn, usedStripsBefore: 0, stripsTotalAtFitting: atFitting, lengths }
  }

  private earlierThan({ fittedOn }: PartOnRecord): ComponentInPlace[] {
    const before = (part: PartOnRecord) => (part.fittedOn ?? -Infinity) < (fittedOn ?? -Infinity)
    return this.earlier.filter(before).map((part) => this.component(BRUSH, part))
  }

  lastOf(doneOn: number): LastDone {
    return { doneOn, anchorOn: doneOn, anchorSteps: 0, stripsTotal: totalAt(this.ledger.days, doneOn) }
  }

  /** As the planner reads it; `instead` stands for parts and records that are no longer so, to ask what would have been said. */
  toPlan(instead: { brushes?: PartOnRecord; blade?: PartOnRecord; lastDone?: Record<string, number> } = {}): MachineToPlan {
    const lastDone = Object.entries({ ...this.lastDone, ...instead.lastDone }).map(([key, day]) => [key, this.lastOf(day)] as const)
    return {
      machineId: this.machineId,
      machineTypeId: typeName(this.typeIndex),
      status: 'in_service',
      statusSince: this.registeredOn,
      registeredOn: this.registeredOn,
      commissionedOn: null,
      line: 'A',
      walkingOrder: 1,
      stripsTotal: this.ledger.days.at(-1)?.stripsTotal ?? 0,
      hasCounter: this.hasCounter,
      usage: this.ledger.intervals,
      lastDone: Object.fromEntries(lastDone),
      open: { ...this.open },
      sequences: { ...this.sequences },
      newest: { ...this.newest },
      skipped: {},
      earlier: this.earlierThan(instead.brushes ?? this.brushes),
      components: [this.component(BRUSH, instead.brushes ?? this.brushes), this.component(BLADE, instead.blade ?? this.blade)],
      findings: [],
      situations: [],
    }
  }

  private end(task: string, on: number, state: 'done' | 'superseded'): void {
    const open = this.open[task]
    if (!open) return
    delete this.open[task]
    this.newest[task] = { sequence: open.sequence, state, kind: open.kind, endedOn: on, nominalOn: open.nominalOn }
  }

  done(task: string, on: number): void {
    this.lastDone[task] = on
    this.end(task, on, 'done')
  }

  /** A new part has a history of its own. */
  forget(task: string): void {
    delete this.lastDone[task]
  }

  /** @returns tasks of which something was said for the first time */
  apply(changes: readonly OccurrenceChange[], today: number): string[] {
    const said: string[] = []
    const sorted = [...changes].sort((a, b) => Number(b.do === 'supersede') - Number(a.do === 'supersede'))
    for (const change of sorted) {
      if (change.do === 'open') {
        const { serviceTaskId: task, sequence, kind, nominalOn, windowFrom, windowTo, hardLimitOn, dueOn, lateFrom, governing } = change
        this.sequences[task] = sequence
        this.open[task] = {
          id: `${this.machineId} ${task} ${sequence}`,
          sequence,
          kind,
          openedOn: today,
          nominalOn,
          windowFrom,
          windowTo,
          hardLimitOn,
          dueOn,
          lateFrom,
          governing,
          saidOn: null,
          saidDueOn: null,
          saidStages: [],
          underWaySince: null,
          lastEntryOn: null,
          componentId: change.componentId,
        }
        this.newest[task] = { sequence, state: 'open', kind, endedOn: null, nominalOn }
        this.say(task, change.say, today, said)
        continue
      }
      const found = Object.entries(this.open).find(([, { id }]) => id === change.occurrenceId)
      if (!found) throw new Error(`change of an occurrence that is not open: ${change.do}`)
      const [task, open] = found
      if (change.do === 'supersede') {
        this.end(task, today, 'superseded')
        continue
      }
      if (change.do === 'redate') {
        const { nominalOn, windowFrom, windowTo, hardLimitOn, dueOn, lateFrom, governing } = change
        this.open[task] = { ...open, nominalOn, windowFrom, windowTo, hardLimitOn, dueOn, lateFrom, governing }
      }
      this.say(task, change.say, today, said)
    }
    return said
  }

  private say(task: string, say: readonly { stage: OpenOccurrence['saidStages'][number] }[], today: number, said: string[]): void {
    for (const { stage } of say) {
      const open = this.open[task] as OpenOccurrence
      const first = open.saidOn === null
      if (first) said.push(task)
      this.open[task] = {
        ...open,
        saidStages: [...new Set([...open.saidStages, stage])],
        ...(first || stage === 'earlier_than_said' ? { saidOn: today, saidDueOn: open.dueOn } : {}),
      }
    }
  }
}
