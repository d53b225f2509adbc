/** What a 'done' does (rules 2, 5, 6, 14, 15): the record, the occurrence it settles, and what arises from what was found. */
import type { OccurrenceKind, SituationKind, TriggerKind } from '@tapewarden/shared'
import type { Units } from '@tapewarden/shared/vocabulary'
import { sayMeasured } from '../words/say.js'
import type { Day, LastDone, PlanTask, UseAnchor } from '../model.js'
import { BELOW_NEVER_BELOW, judgeMeasured, type MeasuringLimits } from '../rules/measured.js'
import { hasCalendarMonth } from '../rules/monthly.js'
import {
  type Anchor,
  anchorAfterDone,
  type CalendarTrigger,
  nextPoint,
  type SettledOccurrence,
  useAnchorAfterDone,
  windowOf,
} from '../rules/points.js'
import { dateOf, firstOfMonth } from '../time/day.js'

export interface OccurrenceToSettle extends SettledOccurrence {
  id: string
  state: 'open' | 'done' | 'skipped' | 'superseded'
  kind: OccurrenceKind
  governing: TriggerKind
}

export interface TaskDone {
  task: Pick<PlanTask, 'key' | 'triggers' | 'componentKey' | 'overrunCounts'>
  /** Local day on which it was done: an offline entry counts on the day it was made. */
  doneOn: Day
  /** The newest record before this one that counts as last done; null: none. */
  last: (Pick<LastDone, 'doneOn' | 'anchorOn' | 'anchorSteps'> & { useAnchor?: UseAnchor }) | null
  /** Day on which the part, else the machine, was new, from which clocks run where nothing was done yet; null: not known. */
  newOn: Day | null
  /** The occurrence that the sheet or the round asked it for; null: done unasked. */
  occurrence: OccurrenceToSettle | null
  /** What the last pass said of this task while nothing was asked for; null: no date. */
  forecast: { governing: TriggerKind; likelyOn: Day } | null
  /** Component type of which one, new or used, was fitted with this task; null: none. */
  fittedComponentKey: string | null
  measured: readonly { limits: MeasuringLimits; valueMm: number }[]
  /** Of whoever measured: what is found is written down in them. */
  units: Units
}

export interface FindingArising {
  taskKey: string
  text: string
  foundOn: Day
  /** null: the planning pass dates it 'no later than'. */
  dueOn: Day | null
}

export interface TaskCompletion {
  record: { doneOn: Day; anchorOn: Day; anchorSteps: number; settles: boolean; useAnchor?: UseAnchor }
  /** To be set to 'done' on doneOn; null: none, the record is evidence only. */
  settlesOccurrenceId: string | null
  /** Open findings of this task that were found on or before this day are settled by it; null where it settles nothing. */
  settlesFindingsUpTo: Day | null
  situations: readonly { kind: SituationKind; on: Day }[]
  findings: readonly FindingArising[]
  /** Not empty: the machine cannot be handed back unless the part is replaced in the same order, or it is tagged out. */
  blocksHandBack: readonly { measurementKey: string; text: string }[]
}

const calendarOf = (task: TaskDone['task']): CalendarTrigger | null =>
  task.triggers.find((trigger): trigger is CalendarTrigger => trigger.kind === 'calendar') ?? null

/** The point that an unasked 'done' may have met: the next one of the calendar trigger, with its window. */
function pointAhead(trigger: CalendarTrigger | null, last: TaskDone['last']): SettledOccurrence | null {
  if (!trigger || !last) return null
  const { nominalOn, lengthDays } = nextPoint(trigger, last, last.doneOn)
  const window = windowOf(lengthDays)
  return { nominalOn, dueOn: nominalOn, windowFrom: nominalOn - window, windowTo: nominalOn + window }
}

/** Rule 14, and rule 6 for a month that is settled already: such a 'done' is kept as evidence and moves no clock. */
function isEvidenceOnly({ task, doneOn, last, occurrence }: TaskDone): boolean {
  if (occurrence) return occurrence.state === 'done'
  if (last === null) return false
  if (last.doneOn === doneOn) return true
  return hasCalendarMonth(task) && task.triggers.length === 1 && firstOfMonth(last.doneOn) === firstOfMonth(doneOn)
}

function anchorOf({ task, doneOn, last, occurrence }: TaskDone): Anchor {
  const trigger = calendarOf(task)
  const governed =
    occurrence === null || (occurrence.governing === 'calendar' && occurrence.kind !== 'wake_up' && occurrence.kind !== 'first_look')
  const settled = occurrence !== null && governed ? occurrence : pointAhead(trigger, last)
  return anchorAfterDone(trigger, last, doneOn, settled, { governed, overrunCounts: task.overrunCounts })
}

/** The point of a usage trigger that an unasked 'done' may have met, as the last pass saw it. */
function pointOfUse({ forecast }: TaskDone, since: Day): SettledOccurrence | null {
  if (forecast === null || forecast.governing !== 'usage') return null
  const nominalOn = forecast.likelyOn
  const window = windowOf(nominalOn - since)
  return { nominalOn, dueOn: nominalOn, windowFrom: nominalOn - window, windowTo: nominalOn + window }
}

/** Use that governed a regular occurrence, or would have; a first look and a wake-up list start the clock anew. */
function useAnchorOf(done: TaskDone): UseAnchor | null {
  const { task, doneOn, last, newOn, occurrence } = done
  const trigger = task.triggers.find(({ kind }) => kind === 'usage')
  const since = last ?? (newOn === null ? null : { doneOn: newOn })
  if (trigger?.kind !== 'usage' || !since) return null
  const governed = occurrence?.kind === 'regular' && occurrence.governing === 'usage' ? occurrence : null
  const settled = occurrence === null ? pointOfUse(done, since.doneOn) : governed
  return settled && useAnchorAfterDone(trigger, since, doneOn, settled, task.overrunCounts)
}

const BRUSH_SETS: ReadonlySet<string> = new Set(['motor_brush_set', 'moistener_brush_set'])

function findingsOf({ measured, doneOn, units }: TaskDone): FindingArising[] {
  return measured.flatMap(({ limits, valueMm }) => {
    const judged = judgeMeasured(limits, valueMm)
    if (judged === 'within' || limits.opensTaskKey === null) return []
    const say = (mm: number | null): string => (mm === null ? 'its limit' : sayMeasured(mm, units))
    const against =
      judged === 'below_never_below' ? `never below ${say(limits.neverBelowMm)}` : `to be replaced at ${say(limits.planLimitMm)}`
    const text = `${limits.name}: ${say(valueMm)} measured on ${dateOf(doneOn)}, ${against}.`
    return [{ taskKey: limits.opensTaskKey, text, foundOn: doneOn, dueOn: judged === 'below_never_below' ? doneOn : null }]
  })
}

/**
 * Pure decision about one finished task; the caller writes what it says in one transaction. Complete measuring tasks of
 * an order before the one that replaces, so that replacing settles what measuring found.
 */
export function completeTask(done: TaskDone): TaskCompletion {
  const { doneOn, occurrence, fittedComponentKey, measured } = done
  const evidence = isEvidenceOnly(done)
  const anchor = evidence ? { anchorOn: doneOn, anchorSteps: 0 } : anchorOf(done)
  const useAnchor = evidence ? null : useAnchorOf(done)
  const fittedSet = fittedComponentKey !== null && BRUSH_SETS.has(fittedComponentKey)
  return {
    record: { doneOn, ...anchor, settles: !evidence, ...(useAnchor ? { useAnchor } : {}) },
    settlesOccurrenceId: !evidence && occurrence?.state === 'open' ? occurrence.id : null,
    settlesFindingsUpTo: evidence ? null : doneOn,
    situations: fittedSet ? [{ kind: 'brushes_replaced', on: doneOn }] : [],
    findings: findingsOf(done),
    blocksHandBack: measured
      .filter(({ limits, valueMm }) => judgeMeasured(limits, valueMm) === 'below_never_below')
      .map(({ limits }) => ({ measurementKey: limits.key, text: `${limits.name}: ${BELOW_NEVER_BELOW.toLowerCase()}` })),
  }
}
