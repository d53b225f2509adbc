/** Rule 16: the chance of failure since the last look makes the look due; replacing early only where the data support it. */
import { adviseReplacement, ageAtNextLook, normalQuantile, remainingLife } from '@tapewarden/reliability'
import type { Trigger } from '@tapewarden/shared'
import type { ComponentInPlace, LastDone, PlanTask } from '../model.js'
import { dateOf } from '../time/day.js'
import { componentOf, sinceBasis } from './baseline.js'
import type { MachineContext } from './context.js'
import type { LifeOfComponent } from './input.js'
import type { TriggerMoment } from './moments.js'

const DAYS_A_YEAR = 365.25
/** Ordinary working days of a year, to turn years into strips by the type's usual use (assumption). */
const WORKING_DAYS_A_YEAR = 250

/** Strips of a year of the type's usual use: the unit in which lives in strips and lives in years are one. */
export const stripsOfAYear = (usualStripsPerDay: number): number => usualStripsPerDay * WORKING_DAYS_A_YEAR

const tenths = (value: number): number => Math.round(value * 10) / 10

type LifeTrigger = Extract<Trigger, { kind: 'life' }>
interface Part {
  context: MachineContext
  component: ComponentInPlace & { newOn: number }
  life: LifeOfComponent
  trigger: LifeTrigger
  last: LastDone
}

const basisOf = ({ context, component, life, trigger, last }: Part): TriggerMoment['basis'] => ({
  ...sinceBasis(last),
  ageYears: tenths((context.input.today - component.newOn) / DAYS_A_YEAR),
  failedPercent: Math.round(trigger.failedFraction * 100),
  removals: life.removals,
})

/** Three-point Gauss–Hermite rule of a standard normal. Source: Abramowitz and Stegun 1964, table 25.10, scaled. */
const THREE_POINTS = [
  [-Math.sqrt(3), 1 / 6],
  [0, 2 / 3],
  [Math.sqrt(3), 1 / 6],
] as const
const STRIPS_LEVELS = 16
const LEVEL_SCORES = Array.from({ length: STRIPS_LEVELS }, (_, index) => normalQuantile((index + 0.5) / STRIPS_LEVELS))

/** Mean and spread of ln(time from the last look to the next), by what is not known of the life; null: taken as known. */
function spreadOfLook(
  life: LifeOfComponent,
  unitsAYear: number,
  ageThen: number,
  failedFraction: number,
): { logMean: number; logSd: number } | null {
  if (!life.logCovariance) return null
  const [[byShape, both], [, byScale]] = life.logCovariance
  const first = Math.sqrt(byShape)
  const second = first > 0 ? both / first : 0
  const rest = Math.sqrt(Math.max(0, byScale - second * second))
  let [mean, square] = [0, 0]
  for (const [a, weightA] of THREE_POINTS)
    for (const [b, weightB] of THREE_POINTS) {
      const shape = life.shape * Math.exp(first * a)
      const scale = life.scaleYears * unitsAYear * Math.exp(second * a + rest * b)
      const more = Math.log(remainingLife({ shape, scale }, ageThen, failedFraction))
      mean += weightA * weightB * more
      square += weightA * weightB * more * more
    }
  const variance = square - mean * mean
  return variance > 1e-9 ? { logMean: mean, logSd: Math.sqrt(variance) } : null
}

/** Given its use the due moment is a threshold in strips, where the type counts the life of the part so. */
function inStrips(part: Part): TriggerMoment | null {
  const { context, component, life, trigger, last } = part
  const { machine, facts, usage } = context
  if (component.stripsTotalAtFitting === null || last.stripsTotal === null) return null
  const unitsAYear = stripsOfAYear(facts.usualStripsPerDay)
  const before = component.usedStripsBefore - component.stripsTotalAtFitting
  const ageThen = Math.max(0, before + last.stripsTotal)
  const spread = spreadOfLook(life, unitsAYear, ageThen, trigger.failedFraction)
  const age = { shape: life.shape, scale: life.scaleYears * unitsAYear }
  const due = spread ? ageThen + Math.exp(spread.logMean) : ageAtNextLook(age, ageThen, trigger.failedFraction)
  const used = before + machine.stripsTotal
  const nodes = spread
    ? levelsOf(spread).map((more) => ({ remaining: ageThen + more - used, weight: 1 / STRIPS_LEVELS }))
    : [{ remaining: due - used, weight: 1 }]
  return {
    trigger: 'life',
    moment: { kind: 'strips', from: usage.knownTo, nodes },
    lengthDays: null,
    basis: { ...basisOf(part), dueStrips: Math.round(due), usedStrips: Math.round(before + machine.stripsTotal) },
  }
}

/** Equal shares of the spread, each by its middle. */
const levelsOf = ({ logMean, logSd }: { logMean: number; logSd: number }): number[] =>
  LEVEL_SCORES.map((score) => Math.exp(logMean + logSd * score))

function inYears(part: Part): TriggerMoment {
  const { component, life, trigger, last } = part
  const ageThen = Math.max(0, (last.doneOn - component.newOn) / DAYS_A_YEAR)
  const lookedOn = Math.max(last.doneOn, component.newOn)
  const spread = spreadOfLook(life, 1, ageThen, trigger.failedFraction)
  const ageDue = spread
    ? ageThen + Math.exp(spread.logMean)
    : ageAtNextLook({ shape: life.shape, scale: life.scaleYears }, ageThen, trigger.failedFraction)
  const day = component.newOn + Math.ceil(ageDue * DAYS_A_YEAR)
  const moment: TriggerMoment['moment'] = spread
    ? { kind: 'uncertain_days', from: lookedOn, logMean: spread.logMean + Math.log(DAYS_A_YEAR), logSd: spread.logSd }
    : { kind: 'day', day }
  return { trigger: 'life', moment, lengthDays: null, basis: { ...basisOf(part), dueOn: dateOf(day) } }
}

/** null where the part's age is not known: then the look has only its own interval. */
export function lifeMoment(context: MachineContext, task: PlanTask, trigger: LifeTrigger, last: LastDone): TriggerMoment | null {
  const component = componentOf(context, task.componentKey)
  const life = task.componentKey === null ? undefined : context.input.life[task.componentKey]
  if (!component || component.newOn === null || !life) return null
  const part: Part = { context, component: { ...component, newOn: component.newOn }, life, trigger, last }
  return context.facts.bladeLifeUnit === 'strips' && task.componentKey === 'blade' ? (inStrips(part) ?? inYears(part)) : inYears(part)
}

function leastCostYears(
  { leastCostYears: known }: MachineContext,
  key: string,
  life: LifeOfComponent,
  plannedCost: number,
  failureCost: number,
): number | null {
  const name = `${key} ${plannedCost} ${failureCost}`
  const found = known.get(name)
  if (found !== undefined) return found
  const advised = adviseReplacement({ shape: life.shape, scale: life.scaleYears }, { plannedCost, failureCost }, life.shapeLower95)
  const years = advised.advice === 'replace-at-age' ? advised.age : null
  known.set(name, years)
  return years
}

/** Replacing at the least-cost age: only with both costs stated, the lower bound of the shape above 1, and an age that is known. */
export function leastCostMoment(context: MachineContext, task: PlanTask): TriggerMoment | null {
  const trigger = task.triggers.find(({ kind }) => kind === 'least_cost_age')
  const component = componentOf(context, task.componentKey)
  const life = task.componentKey === null ? undefined : context.input.life[task.componentKey]
  if (trigger?.kind !== 'least_cost_age' || !component || component.newOn === null || !life || task.componentKey === null) return null
  if (trigger.plannedCost === undefined || trigger.failureCost === undefined || (life.shapeLower95 ?? 0) <= 1) return null
  const years = leastCostYears(context, task.componentKey, life, trigger.plannedCost, trigger.failureCost)
  if (years === null) return null
  const day = component.newOn + Math.ceil(years * DAYS_A_YEAR)
  return {
    trigger: 'least_cost_age',
    moment: { kind: 'day', day },
    lengthDays: null,
    basis: {
      lastDoneOn: null,
      ageYears: tenths((context.input.today - component.newOn) / DAYS_A_YEAR),
      leastCostYears: tenths(years),
      removals: life.removals,
      failures: life.failures,
      dueOn: dateOf(day),
    },
  }
}
