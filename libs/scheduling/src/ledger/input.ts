/** What the ledger is made from: evidence as given, where each machine stood, what stations and types say. */
import type { EvidenceKind, MachineStatus } from '@tapewarden/shared'
import type { Day, UsageInterval, WarehouseCalendar } from '../model.js'

/** A local moment: day and minute of that day, 0..1439, by the warehouse's clocks. */
export interface Moment {
  day: Day
  minute: number
}

export interface RawEvidence {
  id: string
  kind: EvidenceKind
  machineId: string | null
  stationId: string | null
  /** Of counter readings and replacements. */
  at: Moment | null
  from: Day
  to: Day
  /** Reading, strips, cartons or rolls; null for a tap. */
  amount: number | null
  detail: { rollMetres?: number; runs?: string; lastReading?: number }
  /** Order in which it came in: of two that contradict each other the earlier stands. */
  order: number
}

export interface MachineForLedger {
  machineId: string
  meanStripMm: number
  feedSpeedMPerMin: number | null
  startUpSecondsPerStrip: number
  mostStripsPerMinute: number | null
  usualStripsPerDay: number
  counterKind: 'none' | 'strips' | 'metres'
  counterModulus: number | null
  /** In time order, not overlapping; those of other warehouses included. */
  placements: readonly { stationId: string | null; warehouseId: string; from: Moment; to: Moment | null; share: number }[]
  statuses: readonly { status: MachineStatus; from: Moment; to: Moment | null }[]
}

export interface LedgerInput {
  today: Day
  warehouseId: string
  calendar: WarehouseCalendar
  machines: readonly MachineForLedger[]
  /** Other machines that shared a station with one of these: only their placements matter. */
  neighbours: readonly Pick<MachineForLedger, 'machineId' | 'placements' | 'statuses'>[]
  /** null: not stated. */
  stripsPerCarton: Readonly<Record<string, number | null>>
  evidence: readonly RawEvidence[]
}

export interface LedgerDay {
  day: Day
  strips: number
  metres: number
  motorMinutes: number
  stripsTotal: number
  kind: UsageInterval['kind']
  relativeError: number
}

export interface SetAside {
  evidenceId: string
  code: SetAsideCode
  /** One sentence: what is wrong and what to do. */
  reason: string
}
export type SetAsideCode =
  | 'RUNS_BACKWARDS'
  | 'IN_THE_FUTURE'
  | 'MORE_THAN_IT_CAN_CUT'
  | 'NOT_IN_SERVICE'
  | 'NOT_PLACED_THEN'
  | 'DUPLICATE'
  | 'NEGATIVE'
  | 'UNKNOWN_MACHINE'
  | 'NO_STRIPS_PER_CARTON'
  | 'NO_COUNTER'

export interface MachineLedger {
  machineId: string
  /** Oldest first; only days on which something is known or inferred. */
  days: readonly LedgerDay[]
  /** Oldest first, for the usage fit: one entry an observation, not one a spread day. */
  intervals: readonly UsageInterval[]
  /** Kinds that disagree by more than a quarter over the last 60 days they share. */
  disagreements: readonly { kinds: readonly [string, string]; ratio: number }[]
}

export interface LedgerResult {
  machines: readonly MachineLedger[]
  setAside: readonly SetAside[]
}
