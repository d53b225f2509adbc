/** Rule 15: replacing falls due by wear only when the set was measured twice; before that, measuring falls due. */
import { quantileDay } from '../combine/first-due.js'
import type { ComponentInPlace, Day, PlanTask } from '../model.js'
import { dateOf } from '../time/day.js'
import { sumOver } from '../usage/sums.js'
import { fitWear, refuseLonger, type WearPosterior } from '../wear/brushes.js'
import { crossingLevels, stripsAtLevels } from '../wear/levels.js'
import { type MachineContext, wearRateOf } from './context.js'
import { componentOf } from './baseline.js'
import type { TriggerMoment } from './moments.js'
import { lengthsByUse, notYetTold, sinceWhen } from './wear-use.js'

/** Chance of being below the never-below limit at which 'no later than' stands. */
export const NO_LATER_CHANCE = 0.05
export const MEASUREMENTS_NEEDED = 2
const CROSSING_NODES = 16
/** Chances around that of 'no later than': what lies above them cannot move it. */
const NO_LATER_LEVELS = [0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.08, 0.1, 0.15] as const

export interface WearOutlook {
  posterior: WearPosterior
  noLaterThan: Day | null
  moment: TriggerMoment
  lastLengthMm: number | null
}

/** Worked out once a machine, for measuring and replacing alike. null: no such set, or nothing is known of it yet. */
export function wearOutlook(context: MachineContext, task: PlanTask): WearOutlook | null {
  const known = context.wearByTask.get(task.serviceTaskId)
  if (known !== undefined) return known
  const outlook = computeOutlook(context, task)
  context.wearByTask.set(task.serviceTaskId, outlook)
  return outlook
}

interface UseOfSet {
  lengths: ComponentInPlace['lengths']
  /** The day up to which use is counted or taken for granted; wear to come begins after it. */
  from: Day
  /** Strips since new on that day; null: not known. */
  usedNow: number | null
  /** The count that the lengths' totals belong to, on that day. */
  totalNow: number
  /** Spread of the factor that past and future use share, of its logarithm. */
  sharedSd: number
}

/** The ledger may end before the latest length was taken, or the set fitted: the days between are taken to have gone as expected. */
function byLedger({ machine, usage }: MachineContext, set: ComponentInPlace): UseOfSet {
  const fromNew = set.newOn !== null && set.stripsTotalAtFitting !== null
  const from = set.lengths.reduce((latest, { on }) => Math.max(latest, on), sinceWhen(usage, set))
  const totalNow = machine.stripsTotal + notYetTold(usage, set, from)
  const usedNow = fromNew ? set.usedStripsBefore + totalNow - (set.stripsTotalAtFitting as number) : null
  return { lengths: lengthsByUse(usage, set), from, usedNow, totalNow, sharedSd: usage.sharedSd }
}

/** Without any evidence of use the set is taken to have been used as the pool's machines are, since it was fitted or first measured. */
function byExpectedUse({ usage, input }: MachineContext, set: ComponentInPlace): UseOfSet {
  const origin = set.fittedOn ?? set.newOn ?? set.lengths[0]?.on ?? input.today
  const until = (day: number): number => usage.level * sumOver(usage.context, usage.context.expected, origin + 1, day)
  const fromNew = set.newOn !== null && set.fittedOn !== null
  const lengths = set.lengths.map((one) => {
    const strips = until(one.on)
    return { ...one, stripsTotal: strips, usedStrips: fromNew ? set.usedStripsBefore + strips : null }
  })
  const totalNow = until(usage.knownTo)
  return { lengths, from: usage.knownTo, usedNow: fromNew ? set.usedStripsBefore + totalNow : null, totalNow, sharedSd: usage.levelCv }
}

function computeOutlook(context: MachineContext, task: PlanTask): WearOutlook | null {
  const trigger = task.triggers.find(({ kind }) => kind === 'wear')
  const set = componentOf(context, task.componentKey)
  if (trigger?.kind !== 'wear' || !set) return null
  const { facts, machine, usage } = context
  const { lengths, from, usedNow, totalNow, sharedSd } = usage.intervals === 0 ? byExpectedUse(context, set) : byLedger(context, set)
  const before = wearRateOf(context, machine)
  // Wear is reckoned by the ledger's strips: where those are inferred, a rate by them differs by the factor that they share.
  const fleet = before && {
    logMean: before.logMean + Math.log(usage.usedFactor),
    logSd: Math.hypot(before.logSd, sharedSd),
  }
  const posterior = fleet ? fitWear({ lengths }, usedNow, facts, fleet) : null
  if (!posterior) return null
  const planLimitMm = trigger.planLimitMm ?? facts.brushPlanLimitMm
  const neverBelowMm = trigger.neverBelowMm ?? facts.brushNeverBelowMm
  const measured = refuseLonger(lengths).kept.map((index) => lengths[index]!)
  const latest = measured.at(-1)
  // The posterior speaks of the last measurement's use where the set's own use is not known; what came since is taken off.
  const since = usedNow === null && latest ? totalNow - latest.stripsTotal : 0
  const rest = (remaining: number): number => Math.max(0, remaining - since) * usage.usedFactor
  const nodes = crossingLevels(posterior, planLimitMm, CROSSING_NODES).map(({ remaining, weight }) => ({
    remaining: rest(remaining),
    weight,
  }))
  const noLaterNodes = stripsAtLevels(posterior, neverBelowMm, NO_LATER_LEVELS).map((remaining, index) => ({
    remaining: rest(remaining),
    weight: (NO_LATER_LEVELS[index] as number) - (NO_LATER_LEVELS[index - 1] ?? 0),
  }))
  const noLaterThan = quantileDay(usage, noLaterNodes, from, NO_LATER_CHANCE)
  return {
    posterior,
    noLaterThan,
    lastLengthMm: latest?.lengthMm ?? null,
    moment: {
      trigger: 'wear',
      moment: { kind: 'strips', from, nodes },
      lengthDays: null,
      basis: {
        measurements: posterior.measurements,
        lastLengthMm: latest?.lengthMm ?? null,
        measuredOn: latest ? dateOf(latest.on) : null,
        planLimitMm,
        neverBelowMm,
        perDay: Math.round(usage.level),
        kinds: [...usage.kinds],
        noLaterThan: noLaterThan === null ? null : dateOf(noLaterThan),
      },
    },
  }
}

/** What wear makes due for this task: replacing, or measuring where too little was measured. */
export function wearMomentFor(
  context: MachineContext,
  task: PlanTask,
): { moment: TriggerMoment | null; noLaterThan: Day | null; reason: string | null } {
  if (task.triggers.some(({ kind }) => kind === 'wear')) {
    const outlook = wearOutlook(context, task)
    if (!outlook)
      return {
        moment: null,
        noLaterThan: null,
        reason: 'Not measured yet, and the day on which this set was fitted is not known: a date needs a measurement first.',
      }
    if (outlook.posterior.measurements < MEASUREMENTS_NEEDED)
      return { moment: null, noLaterThan: outlook.noLaterThan, reason: 'Measured too seldom for a date: measuring falls due instead.' }
    return { moment: outlook.moment, noLaterThan: outlook.noLaterThan, reason: null }
  }
  if (!task.measures) return { moment: null, noLaterThan: null, reason: null }
  const replacing = context.tasks.find(
    ({ componentKey, triggers }) => componentKey === task.componentKey && triggers.some(({ kind }) => kind === 'wear'),
  )
  const outlook = replacing ? wearOutlook(context, replacing) : null
  if (!outlook || outlook.posterior.measurements >= MEASUREMENTS_NEEDED) return { moment: null, noLaterThan: null, reason: null }
  return { moment: outlook.moment, noLaterThan: outlook.noLaterThan, reason: null }
}
