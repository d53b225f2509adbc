/** Rule 16: the chance of failure since the last look makes the look due; replacing early only where the data support it. */
import { adviseReplacement, ageAtNextLook } from '@tapewarden/reliability'
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

/** Given its use the due moment is a threshold in strips, where the type counts the life of the part so. */
function inStrips(part: Part): TriggerMoment | null {
  const { context, component, life, trigger, last } = part
  const { machine, facts, usage } = context
  if (component.stripsTotalAtFitting === null || last.stripsTotal === null) return null
  const scale = life.scaleYears * facts.usualStripsPerDay * WORKING_DAYS_A_YEAR
  const before = component.usedStripsBefore - component.stripsTotalAtFitting
  const due = ageAtNextLook({ shape: life.shape, scale }, Math.max(0, before + last.stripsTotal), trigger.failedFraction)
  return {
    trigger: 'life',
    moment: { kind: 'strips', from: usage.knownTo, nodes: [{ remaining: due - (before + machine.stripsTotal), weight: 1 }] },
    lengthDays: null,
    basis: { ...basisOf(part), dueStrips: Math.round(due), usedStrips: Math.round(before + machine.stripsTotal) },
  }
}

function inYears(part: Part): TriggerMoment {
  const { component, life, trigger, last } = part
  const ageThen = Math.max(0, (last.doneOn - component.newOn) / DAYS_A_YEAR)
  const ageDue = ageAtNextLook({ shape: life.shape, scale: life.scaleYears }, ageThen, trigger.failedFraction)
  const day = component.newOn + Math.ceil(ageDue * DAYS_A_YEAR)
  return { trigger: 'life', moment: { kind: 'day', day }, lengthDays: null, basis: { ...basisOf(part), dueOn: dateOf(day) } }
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
