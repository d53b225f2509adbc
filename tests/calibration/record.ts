/** One line of what a simulated warehouse yields; written by the parts, read by the report. */
export interface DueRecord {
  what: 'due'
  trigger: 'usage' | 'wear' | 'life'
  origin: 'reset' | 'thirty_days_ahead'
  cluster: string
  typeIndex: number
  habit: string
  resetOn: number
  madeOn: number
  early: number
  likely: number | null
  late: number | null
  trueOn: number | null
  before: number
  upTo: number
  /** True days of the machine's interval before this one; null: the first. */
  lastIntervalDays: number | null
}

/** A due that the forecast gave no date for. */
export interface UndatedRecord {
  what: 'undated'
  trigger: DueRecord['trigger']
  origin: DueRecord['origin']
  cluster: string
  habit: string
}

export interface ReminderRecord {
  what: 'reminder'
  trigger: DueRecord['trigger']
  cluster: string
  habit: string
  trueOn: number
  /** null: not reminded before the true due. */
  firstSaidOn: number | null
  leadDays: number
}

export interface RateRecord {
  what: 'rate'
  cluster: string
  measurements: number
  /** mm a million strips. */
  trueRate: number
  ours: number
  own: number
}

export interface UseRecord {
  what: 'use'
  cluster: string
  habit: string
  trueStrips: number
  strips: number
  low: number
  high: number
}

/** A purely calendar due: told and exact by the rule. */
export interface CalendarRecord {
  what: 'calendar'
  cluster: string
  toldOn: number | null
  exactOn: number
}

export type SimulationRecord = DueRecord | UndatedRecord | ReminderRecord | RateRecord | UseRecord | CalendarRecord
