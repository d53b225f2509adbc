/** What a period's stoppages say about each machine of a fleet. Instants in milliseconds, durations in hours. */
import {
  clip,
  compareWithFleet,
  type Compared,
  lengthOf,
  mtbfLimits,
  type MtbfLimits,
  overlapOf,
  repairableTrend,
  type Stretch,
  unionOf,
} from '@tapewarden/reliability'

const HOUR_MS = 3_600_000

export interface ReviewedStoppage {
  failedMs: number
  /** null: still down. */
  backMs: number | null
  planned: boolean
}

export interface MachineHistory {
  machineId: string
  /** When the machine stood in service; overlaps do not count twice. */
  inService: readonly Stretch[]
  stoppages: readonly ReviewedStoppage[]
}

export interface MachineFigures {
  machineId: string
  hoursObserved: number
  hoursStopped: number
  hoursStoppedUnplanned: number
  planned: number
  unplanned: number
  /** Of all stoppages begun in the period; null without one. */
  plannedShare: number | null
  /** Hours in service per unplanned stoppage, 95 % limits; null where never in service. */
  between: MtbfLimits | null
  /** 1 − hours stopped while in service ÷ hours in service. */
  availability: number | null
  /** Laplace test over hours in service: above 0 stoppages come ever faster. null without an unplanned stoppage. */
  trend: { statistic: number; pValue: number } | null
  /** Beside the other machines; null where never in service. */
  besideFleet: Compared | null
}

interface Prepared {
  history: MachineHistory
  service: Stretch[]
  hoursObserved: number
  begun: readonly ReviewedStoppage[]
  unplannedAtHours: number[]
}

/** Hours in service from the period's start to the instant. */
const hoursUntil = (service: readonly Stretch[], instantMs: number): number =>
  lengthOf(service.map(({ from, to }) => ({ from, to: Math.max(from, Math.min(to, instantMs)) }))) / HOUR_MS

function prepare(history: MachineHistory, period: Stretch): Prepared {
  const service = unionOf(history.inService.map((stretch) => clip(stretch, period)))
  const begun = history.stoppages.filter(({ failedMs }) => failedMs >= period.from && failedMs < period.to)
  const hoursObserved = lengthOf(service) / HOUR_MS
  return {
    history,
    service,
    hoursObserved,
    begun,
    // A stoppage at the very first moment is set a second later, where a logarithm can stand it.
    unplannedAtHours: begun
      .filter(({ planned }) => !planned)
      .map(({ failedMs }) => Math.min(hoursObserved, Math.max(1 / 3600, hoursUntil(service, failedMs)))),
  }
}

function figuresOf(
  { history, service, hoursObserved, begun, unplannedAtHours }: Prepared,
  period: Stretch,
): Omit<MachineFigures, 'besideFleet'> {
  const down = (stoppages: readonly ReviewedStoppage[]): Stretch[] =>
    unionOf(stoppages.map(({ failedMs, backMs }) => clip({ from: failedMs, to: backMs ?? period.to }, period)))
  const all = down(history.stoppages)
  const unplanned = unplannedAtHours.length
  const watched = hoursObserved > 0
  return {
    machineId: history.machineId,
    hoursObserved,
    hoursStopped: lengthOf(all) / HOUR_MS,
    hoursStoppedUnplanned: lengthOf(down(history.stoppages.filter(({ planned }) => !planned))) / HOUR_MS,
    planned: begun.length - unplanned,
    unplanned,
    plannedShare: begun.length === 0 ? null : (begun.length - unplanned) / begun.length,
    between: watched
      ? mtbfLimits({ totalTime: hoursObserved, failures: unplanned, confidence: 0.95, sides: 'two', truncation: 'time' })
      : null,
    availability: watched ? 1 - overlapOf(all, service) / lengthOf(service) : null,
    trend: watched ? repairableTrend(unplannedAtHours, 'time', hoursObserved).laplace : null,
  }
}

/**
 * Figures of every machine, those that stood still longest without a plan first. A machine is called worse than the fleet only
 * where chance would name any machine of an equal fleet in at most one period in twenty.
 * @param period instants; histories may reach beyond it
 */
export function reviewMachines(histories: readonly MachineHistory[], period: Stretch): MachineFigures[] {
  const prepared = histories.map((history) => prepare(history, period))
  const watched = prepared.filter(({ hoursObserved }) => hoursObserved > 0)
  const compared = compareWithFleet(
    watched.map(({ unplannedAtHours, hoursObserved }) => ({ failures: unplannedAtHours.length, exposure: hoursObserved })),
  )
  const beside = new Map(watched.map((one, index) => [one, compared[index] as Compared]))
  return prepared
    .map((one) => ({ ...figuresOf(one, period), besideFleet: beside.get(one) ?? null }))
    .sort(
      (a, b) =>
        b.hoursStoppedUnplanned - a.hoursStoppedUnplanned || b.hoursStopped - a.hoursStopped || (a.machineId < b.machineId ? -1 : 1),
    )
}
