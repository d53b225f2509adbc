/** From an outlook to an occurrence's dates: window, hard limit, shift, lateness (rules 4, 7, 9, 15). */
import type { OccurrenceKind, TriggerKind } from '@tapewarden/shared'
import { type Care, careOf } from '../calendar/day-table.js'
import type { Basis, Day, LastDone } from '../model.js'
import { HARD_LIMIT_WITHOUT_INTERVAL_DAYS, hardLimitAfter, WINDOW_WITHOUT_INTERVAL_DAYS, windowOf } from '../rules/points.js'
import { lateFromDay, shiftToOpenDay } from '../rules/shift.js'
import { monthDays } from '../rules/monthly.js'
import { isoWeekday } from '../time/day.js'
import { dayReached } from '../usage/forecast.js'
import type { MachineContext } from './context.js'
import type { Outlook } from './outlook.js'
import { HARD_LIMIT_SHARE, type TriggerMoment } from './moments.js'
import { usedOn } from './usage-past.js'

export interface OccurrenceDates {
  kind: OccurrenceKind
  nominalOn: Day
  windowFrom: Day
  windowTo: Day
  hardLimitOn: Day | null
  dueOn: Day
  lateFrom: Day | null
  needsPerson: boolean
  governing: TriggerKind
  basis: Basis
  care: Care
  neverLate: boolean
  /** Urgent mail only from calendar limits, or where a counter or strips a day support the use (rule 4). */
  urgentAllowed: boolean
}

interface Frame {
  windowFrom: Day
  windowTo: Day
  hardLimitOn: Day | null
  lengthDays: number | null
}

/** A first look belongs to its week; it has neither window nor limit. */
function lookFrame(nominalOn: Day): Frame {
  const monday = nominalOn - isoWeekday(nominalOn) + 1
  return { windowFrom: monday, windowTo: monday + 6, hardLimitOn: null, lengthDays: null }
}

function intervalFrame(
  { lengthDays, windowDays, hardLimitOn }: TriggerMoment & { lengthDays: number },
  nominalOn: Day,
  doneOn: Day,
): Frame {
  const window = windowDays ?? windowOf(lengthDays)
  return {
    windowFrom: nominalOn - window,
    windowTo: nominalOn + window,
    hardLimitOn: hardLimitOn ?? doneOn + hardLimitAfter(lengthDays),
    lengthDays,
  }
}

/** Rule 4, without an interval; of wear the hard limit is 'no later than'. */
function plainFrame(governing: TriggerMoment, nominalOn: Day, noLaterThan: Day | null): Frame {
  const hardLimitOn = governing.trigger === 'wear' ? noLaterThan : (governing.hardLimitOn ?? nominalOn + HARD_LIMIT_WITHOUT_INTERVAL_DAYS)
  const windowTo = nominalOn + WINDOW_WITHOUT_INTERVAL_DAYS
  return {
    windowFrom: nominalOn,
    windowTo: hardLimitOn === null ? windowTo : Math.max(nominalOn, Math.min(windowTo, hardLimitOn)),
    hardLimitOn: hardLimitOn === null ? null : Math.max(nominalOn, hardLimitOn),
    lengthDays: null,
  }
}

/** Rule 4: in strips likewise, dated by the likely forecast; what is passed already, by the evidence. */
function usageFrame(
  context: MachineContext,
  { amount, used, from, toNominal }: NonNullable<TriggerMoment['strips']>,
  last: LastDone,
  nominalOn: Day,
): Frame {
  const at = (strips: number): Day | null =>
    strips <= used ? usedOn(context.machine, last, strips) : dayReached(context.usage, strips - used, from, 0.5)
  const hard = at(HARD_LIMIT_SHARE * amount)
  return {
    windowFrom: Math.min(nominalOn, at(0.9 * amount + toNominal) ?? nominalOn),
    windowTo: Math.max(nominalOn, at(1.1 * amount + toNominal) ?? nominalOn),
    hardLimitOn: hard === null ? null : Math.max(nominalOn, hard),
    lengthDays: Math.max(0, nominalOn - last.doneOn),
  }
}

function frameOf(context: MachineContext, outlook: Outlook, governing: TriggerMoment, nominalOn: Day): Frame {
  const { last } = outlook
  if (outlook.firstLook) return lookFrame(nominalOn)
  if (governing.trigger === 'calendar_month') {
    const month = monthDays(context.fleet.table, nominalOn)
    return { windowFrom: month.first, windowTo: month.last, hardLimitOn: month.last + 7, lengthDays: null }
  }
  const { lengthDays } = governing
  if (lengthDays !== null && last) return intervalFrame({ ...governing, lengthDays }, nominalOn, last.doneOn)
  if (governing.strips && last) return usageFrame(context, governing.strips, last, nominalOn)
  return plainFrame(governing, nominalOn, outlook.noLaterThan)
}

function kindOf(outlook: Outlook, governing: TriggerMoment): OccurrenceKind {
  if (outlook.firstLook) return 'first_look'
  if (governing.trigger === 'finding') return 'finding'
  return governing.trigger === 'situation' ? 'situation' : 'regular'
}

/** Urgent mail from a limit only where something supports it: the calendar, or a counter or strips a day (rules 4, 15). */
function supportsUrgent(context: MachineContext, { task, governing }: Outlook): boolean {
  const rests = governing?.trigger === 'wear' || governing?.strips !== undefined
  // A safety finding is said urgently itself; a second urgent mail on the same day would say nothing more.
  if (governing?.findingSafety || (governing?.trigger === 'wear' && task.measures)) return false
  return !rests || context.usage.kinds.some((kind) => kind === 'counter' || kind === 'strips')
}

/** null where the outlook has no date. */
export function datesOf(context: MachineContext, outlook: Outlook): OccurrenceDates | null {
  const { task, governing, last } = outlook
  const nominalOn = outlook.range.likely
  if (governing === null || nominalOn === null) return null
  const care = careOf(task)
  const table = context.fleet.table
  const frame = frameOf(context, outlook, governing, nominalOn)
  const safetyCheck = task.safetyCheck && !outlook.firstLook
  const windowTo = safetyCheck ? nominalOn : frame.windowTo
  const hardLimitOn = safetyCheck ? nominalOn : frame.hardLimitOn
  // After a skip the next point may lie past the limit that still runs from the last done: the limit is what is due then.
  const wantedOn = hardLimitOn === null ? nominalOn : Math.min(nominalOn, hardLimitOn)
  const shifted = shiftToOpenDay(table, {
    likelyOn: wantedOn,
    care,
    today: context.input.today,
    lastDoneOn: last?.doneOn ?? null,
    lengthDays: frame.lengthDays,
    hardLimitOn: frame.hardLimitOn,
    safetyCheck,
  })
  const dueOn = shifted ?? wantedOn
  const lateFrom = lateFromDay(table, care, {
    nominalOn: wantedOn,
    dueOn,
    windowTo: Math.max(wantedOn, Math.min(windowTo, hardLimitOn ?? windowTo)),
    safetyCheck,
  })
  return {
    kind: kindOf(outlook, governing),
    nominalOn,
    windowFrom: Math.min(frame.windowFrom, nominalOn),
    windowTo,
    hardLimitOn,
    dueOn,
    lateFrom: outlook.firstLook ? null : lateFrom,
    needsPerson: shifted === null,
    governing: governing.trigger,
    basis: governing.basis,
    care,
    neverLate: outlook.firstLook,
    urgentAllowed: supportsUrgent(context, outlook),
  }
}
