/**
 * Rates of wear before a set has told its own: ln(mm a strip) over type, machine, set. Sets of one machine lie closer
 * together than those of different machines, so the earlier sets of a machine say most of what its next one will do.
 */
import { poolLogEstimates } from '@tapewarden/reliability'
import type { ComponentInPlace, MachineTypeFacts } from '../model.js'
import { MEASURING_SD_MM, NEW_LENGTH_SD_MM, refuseLonger, type WearRate } from './brushes.js'

/** Before any set was measured: how well the stated rate holds for the type, and the spread between machines; of ln k (assumptions). */
const STATED_LOG_SD = 0.3
const MACHINE_LOG_SD = 0.35
/** Between sets of one machine, of ln k (assumption). */
export const SET_LOG_SD = 0.15
/** Least wear by the stated rate from which a set says something of its rate, mm. */
const TELLING_WEAR_MM = 0.8
/** Wear is no straight line: relative error of a rate from a set's own points besides measuring (assumption). */
const CURVED_LOG_SD = 0.1

export type MeasuredSet = Pick<ComponentInPlace, 'lengths'>

/** Of a type: the machines' own level, mean and spread, without the spread between sets of one machine. */
export interface FleetWear {
  logMean: number
  machineLogSd: number
  /** Machines of which a set has told its rate. */
  machines: number
}

interface Estimate {
  log: number
  error: number
}

/** mm a strip */
export function statedRate(facts: Pick<MachineTypeFacts, 'brushNewMm' | 'brushPlanLimitMm' | 'stripsFromNewToPlanLimit'>): number {
  return (facts.brushNewMm - facts.brushPlanLimitMm) / facts.stripsFromNewToPlanLimit
}

/** ln of a set's own rate with its standard error; null where it has too little use to say anything. */
function ownRate({ lengths }: MeasuredSet, facts: MachineTypeFacts): Estimate | null {
  const points = refuseLonger(lengths).kept.map((index) => lengths[index]!)
  const [first, last] = [points[0], points.at(-1)]
  if (!first || !last) return null
  const fromNew = points.every(({ usedStrips }) => usedStrips !== null)
  const [use0, length0] = fromNew ? [0, facts.brushNewMm] : [first.stripsTotal, first.lengthMm]
  let [products, squares] = [0, 0]
  for (const { usedStrips, stripsTotal, lengthMm } of points) {
    const use = (fromNew ? (usedStrips as number) : stripsTotal) - use0
    products += use * (length0 - lengthMm)
    squares += use * use
  }
  const use = (fromNew ? (last.usedStrips as number) : last.stripsTotal) - use0
  // Decided by use, not by what was measured, so that fast sets are not taken rather than slow ones.
  if (!(use * statedRate(facts) > TELLING_WEAR_MM) || !(products > 0)) return null
  const rate = products / squares
  const startSd = fromNew ? NEW_LENGTH_SD_MM : MEASURING_SD_MM
  const measured = Math.sqrt(startSd ** 2 + MEASURING_SD_MM ** 2) / (rate * use)
  return { log: Math.log(rate), error: Math.sqrt(measured ** 2 + CURVED_LOG_SD ** 2) }
}

/** Of a machine's own level, by all its sets that tell; null: none does. Each lies about that level by SET_LOG_SD. */
function machineRate(sets: readonly MeasuredSet[], facts: MachineTypeFacts): Estimate | null {
  let [total, moment] = [0, 0]
  for (const set of sets) {
    const own = ownRate(set, facts)
    if (!own) continue
    const precision = 1 / (own.error ** 2 + SET_LOG_SD ** 2)
    total += precision
    moment += precision * own.log
  }
  return total === 0 ? null : { log: moment / total, error: Math.sqrt(1 / total) }
}

/**
 * The fleet's rates of a type, drawn towards the stated rate; the spread between machines is integrated over, not estimated.
 * @param machines sets of each machine, earlier ones among them
 */
export function poolWear(machines: readonly (readonly MeasuredSet[])[], facts: MachineTypeFacts): FleetWear {
  const own = machines.flatMap((sets) => machineRate(sets, facts) ?? [])
  const { predictive } = poolLogEstimates(
    own.map(({ log }) => log),
    own.map(({ error }) => error),
    MACHINE_LOG_SD,
    { mean: Math.log(statedRate(facts)), sd: STATED_LOG_SD },
  )
  return { logMean: predictive.mean, machineLogSd: predictive.sd, machines: own.length }
}

/** For a set in a machine, before its own measurements: the fleet's level drawn towards that of the machine's earlier sets. */
export function rateBefore(fleet: FleetWear, earlier: readonly MeasuredSet[], facts: MachineTypeFacts): WearRate {
  const own = machineRate(earlier, facts)
  if (!own) return { logMean: fleet.logMean, logSd: Math.hypot(fleet.machineLogSd, SET_LOG_SD) }
  const [ofFleet, ofOwn] = [fleet.machineLogSd ** -2, own.error ** -2]
  const logMean = (ofFleet * fleet.logMean + ofOwn * own.log) / (ofFleet + ofOwn)
  return { logMean, logSd: Math.sqrt(1 / (ofFleet + ofOwn) + SET_LOG_SD ** 2) }
}
