/**
 * What the planning pass reads and what it decides, as plain data. No database row, no clock:
 * persistence fills these, the pure functions of this library answer them.
 */
import type {
  ForecastState,
  MachineStatus,
  OccurrenceKind,
  OccurrenceState,
  PeakBars,
  Reach,
  ReminderStage,
  SituationKind,
  Skill,
  Trigger,
  TriggerKind,
} from '@tapewarden/shared'

/** Days since 1970-01-01 of a local date of the warehouse. Never an instant. */
export type Day = number

export interface WarehouseCalendar {
  zone: string
  /** Index 1..7 = Monday..Sunday; minutes of shifts that begin on that weekday; 0: no working day. Index 0 unused. */
  shiftMinutes: readonly number[]
  closures: readonly { from: Day; to: Day }[]
  peaks: readonly { from: Day; to: Day; usageMultiplier: number; bars: PeakBars }[]
  /** The shifts behind shiftMinutes, minutes since local midnight; one that ends at or before its start ends on the next day. */
  shifts: readonly { weekday: number; startsMinute: number; endsMinute: number }[]
}

export interface PlanTask {
  planTaskId: string
  serviceTaskId: string
  key: string
  name: string
  componentKey: string | null
  minutes: number
  skill: Skill
  reach: Reach
  safetyCheck: boolean
  overrunCounts: boolean
  triggers: readonly Trigger[]
  /** True where its sheet measures the component's wear. */
  measures: boolean
  /** Longest lead time of the parts it takes, days; 0 where it takes none. */
  partsLeadDays: number
  /**
   * The intervals of the plan before, and the day from which this one holds (rule 19); left out where nothing
   * changed. null: the task had no such interval then, or is new in the plan.
   */
  intervalBefore?: { months: number | null; use: { unit: UseAnchor['unit']; amount: number } | null; changedOn: Day }
}

/** Evidence of use over an interval of local days, both ends included, already cut and freed of what cannot be true. */
export interface UsageInterval {
  from: Day
  to: Day
  strips: number
  kind: 'counter' | 'strips' | 'cartons' | 'rolls' | 'tap'
  /** Relative factor error of the kind (0 for counters and strips a day); common to the machine's past and future. */
  relativeError: number
}

/** The newest service record that counts as last done, for one task on one machine (or on the component in place). */
export interface LastDone {
  doneOn: Day
  /** Points count from here: anchorOn plus anchorSteps months is the nominal point it settled (rules 3 and 5). */
  anchorOn: Day
  anchorSteps: number
  /** Strips of the machine's ledger at the end of that day; null: not known. */
  stripsTotal: number | null
  /**
   * Rule 5, where use governed and the care came inside its window: use counts from the nominal point, which lies
   * `amount` (in the trigger's unit) after the ledger total at `on`. Left out: use counts from doneOn.
   */
  useAnchor?: UseAnchor & { stripsTotal: number | null }
  /** Never done yet: the clocks run since this was new on doneOn. */
  isNew?: 'machine' | 'part'
}

export interface UseAnchor {
  /** Day from whose ledger total the intervals are counted. */
  on: Day
  unit: 'strips' | 'metres' | 'motor_minutes'
  /** Whole intervals counted since then, in the unit. */
  amount: number
}

export interface OpenOccurrence {
  id: string
  sequence: number
  kind: OccurrenceKind
  openedOn: Day
  nominalOn: Day
  windowFrom: Day
  windowTo: Day
  hardLimitOn: Day | null
  dueOn: Day
  lateFrom: Day | null
  governing: TriggerKind
  /** Day on which something was first said of it, and the due day then said; null: nothing said yet. */
  saidOn: Day | null
  saidDueOn: Day | null
  /** Stages for which reminders exist already. */
  saidStages: readonly ReminderStage[]
  /** Day since which its work order is under way, and the last entry there; null: not under way. */
  underWaySince: Day | null
  lastEntryOn: Day | null
  componentId: string | null
}

export interface SkippedOccurrence {
  endedOn: Day
  nominalOn: Day
}

export interface NewestOccurrence {
  sequence: number
  state: OccurrenceState
  kind: OccurrenceKind
  /** null: still open. */
  endedOn: Day | null
  nominalOn: Day
}

export interface ComponentInPlace {
  componentId: string
  componentKey: string
  /** null: not known. */
  newOn: Day | null
  fittedOn: Day | null
  usedStripsBefore: number
  /** Ledger total at fitting; null: not known. */
  stripsTotalAtFitting: number | null
  /** Shorter edge of the set, oldest first; only what counts. usedStrips: since new; null where that is not known. */
  lengths: readonly { on: Day; lengthMm: number; usedStrips: number | null; stripsTotal: number }[]
}

export interface MachineTypeFacts {
  machineTypeId: string
  electric: boolean
  meanStripMm: number
  feedSpeedMPerMin: number | null
  startUpSecondsPerStrip: number
  mostStripsPerMinute: number | null
  /** Usual strips on an ordinary working day; stated says whether a user stated it or it is the labelled default. */
  usualStripsPerDay: number
  usualStripsStated: boolean
  brushNewMm: number
  brushPlanLimitMm: number
  brushNeverBelowMm: number
  stripsFromNewToPlanLimit: number
  bladeLifeUnit: 'years' | 'strips'
}

export interface MachineToPlan {
  machineId: string
  machineTypeId: string
  status: MachineStatus
  statusSince: Day
  registeredOn: Day
  commissionedOn: Day | null
  /** Line of its station, for spreading first rounds; '' where it stands at none. */
  line: string
  walkingOrder: number
  /** Ledger total at the end of the newest ledger day; 0 where nothing is known. */
  stripsTotal: number
  hasCounter: boolean
  /** Oldest first, by their first day. */
  usage: readonly UsageInterval[]
  lastDone: Readonly<Record<string, LastDone>>
  open: Readonly<Record<string, OpenOccurrence>>
  /** Highest sequence number so far, by service task. */
  sequences: Readonly<Record<string, number>>
  /** The occurrence of that number, by service task: what became of it decides rules 6 and 17. */
  newest: Readonly<Record<string, NewestOccurrence>>
  /** The newest skipped occurrence, by service task: it stays skipped until the task is done (rule 13). */
  skipped: Readonly<Record<string, SkippedOccurrence>>
  components: readonly ComponentInPlace[]
  /** Parts of the same kinds that were in it before, with what was measured of them here; left out: none. */
  earlier?: readonly Pick<ComponentInPlace, 'componentKey' | 'lengths'>[]
  findings: readonly {
    findingId: string
    serviceTaskId: string | null
    foundOn: Day
    dueOn: Day | null
    withinDays: number | null
    safety: boolean
    text: string
  }[]
  situations: readonly { kind: SituationKind; on: Day }[]
}

/** One line of the forecast table. */
export interface TaskForecast {
  serviceTaskId: string
  planTaskId: string
  state: ForecastState
  earlyOn: Day | null
  likelyOn: Day | null
  lateOn: Day | null
  noLaterThan: Day | null
  governing: TriggerKind | null
  /** Every number the why-sentence needs; stored as it stands. */
  basis: Basis
  reason: string | null
}

export type Basis = Readonly<Record<string, string | number | boolean | null | readonly (string | number)[]>>

/** Who is told, by office rather than by name; persistence knows the people. */
export type Told = 'technician' | 'first' | 'second' | 'manager' | 'administrator'

export interface SayThis {
  stage: ReminderStage
  told: Told
  sayOn: Day
  class: 'digest' | 'urgent'
  /** Of an urgent one: the last day on which it may be done before its limit. */
  doBy?: Day
}

export type OccurrenceChange =
  | {
      do: 'open'
      serviceTaskId: string
      planTaskId: string
      sequence: number
      kind: OccurrenceKind
      componentId: string | null
      nominalOn: Day
      windowFrom: Day
      windowTo: Day
      hardLimitOn: Day | null
      dueOn: Day
      lateFrom: Day | null
      needsPerson: boolean
      governing: TriggerKind
      basis: Basis
      say: readonly SayThis[]
    }
  | {
      do: 'redate'
      occurrenceId: string
      nominalOn: Day
      windowFrom: Day
      windowTo: Day
      hardLimitOn: Day | null
      dueOn: Day
      lateFrom: Day | null
      needsPerson: boolean
      governing: TriggerKind
      basis: Basis
      say: readonly SayThis[]
    }
  | { do: 'supersede'; occurrenceId: string; reason: string; missed: boolean }
  | { do: 'say'; occurrenceId: string; say: readonly SayThis[] }

export interface MachinePlan {
  machineId: string
  forecasts: readonly TaskForecast[]
  changes: readonly OccurrenceChange[]
  /** Set when this machine's data could not be computed; its forecasts then carry state cannot_be_computed. */
  problem: string | null
}

export type { OccurrenceState }
