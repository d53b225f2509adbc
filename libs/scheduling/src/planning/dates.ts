/** From an outlook to an occurrence's dates: window, hard limit, shift, lateness (rules 4, 7, 9, 15). */
import type { OccurrenceKind, TriggerKind } from '@tapewarden/shared'
import { type Care, careOf } from '../calendar/day-table.js'
import type { Basis, Day } from '../model.js'
import { HARD_LIMIT_WITHOUT_INTERVAL_DAYS, hardLimitAfter, WINDOW_WITHOUT_INTERVAL_DAYS, windowOf } from '../rules/points.js'
import { lateFromDay, shiftToOpenDay } from '../rules/shift.js'
import { monthDays } from '../rules/monthly.js'
import { dayReached } from '../usage/forecast.js'
import type { MachineContext } from './context.js'
import type { Outlook } from './outlook.js'
import type { TriggerMoment } from './moments.js'

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

function frameOf(context: MachineContext, outlook: Outlook, governing: TriggerMoment, nominalOn: Day): Frame {
  const { last } = outlook
  if (outlook.firstLook)
    return {
      windowFrom: nominalOn - WINDOW_WITHOUT_INTERVAL_DAYS,
      windowTo: nominalOn + WINDOW_WITHOUT_INTERVAL_DAYS,
      hardLimitOn: null,
      lengthDays: null,
    }
  if (governing.trigger === 'calendar_month') {
    const month = monthDays(context.fleet.table, nominalOn)
    return { windowFrom: month.first, windowTo: month.last, hardLimitOn: month.last + 7, lengthDays: null }
  }
  if (governing.lengthDays !== null && last) {
    const window = windowOf(governing.lengthDays)
    return {
      windowFrom: nominalOn - window,
      windowTo: nominalOn + window,
      hardLimitOn: governing.hardLimitOn ?? last.doneOn + hardLimitAfter(governing.lengthDays),
      lengthDays: governing.lengthDays,
    }
  }
  if (governing.strips) return usageFrame(context, governing.strips, nominalOn)
  const hardLimitOn = governing.trigger === 'wear' ? outlook.noLaterThan : nominalOn + HARD_LIMIT_WITHOUT_INTERVAL_DAYS
  const windowTo = nominalOn + WINDOW_WITHOUT_INTERVAL_DAYS
  return {
    windowFrom: nominalOn,
    windowTo: hardLimitOn === null ? windowTo : Math.max(nominalOn, Math.min(windowTo, hardLimitOn)),
    hardLimitOn,
    lengthDays: null,
  }
}

/** Rule 4: in strips likewise, dated by the likely forecast. */
function usageFrame({ usage }: MachineContext, { amount, used, from }: { amount: number; used: number; from: Day }, nominalOn: Day): Frame {
  const at = (share: number): Day | null => dayReached(usage, share * amount - used, from, 0.5)
  const hard = at(1.25)
  return {
    windowFrom: Math.min(nominalOn, at(0.9) ?? nominalOn),
    windowTo: Math.max(nominalOn, at(1.1) ?? nominalOn),
    hardLimitOn: hard === null ? null : Math.max(nominalOn, hard),
    lengthDays: null,
  }
}

function kindOf(outlook: Outlook, governing: TriggerMoment): OccurrenceKind {
  if (outlook.firstLook) return 'first_look'
  if (governing.trigger === 'finding') return 'finding'
  return governing.trigger === 'situation' ? 'situation' : 'regular'
}

/** null where the outlook has no date. */
export function datesOf(context: MachineContext, outlook: Outlook): OccurrenceDates | null {
  const { task, governing, last } = outlook
  const nominalOn = outlook.range.likely
  if (governing === null || nominalOn === null) return null
  const care = careOf(task)
  const table = context.fleet.table
  const frame = frameOf(context, outlook, governing, nominalOn)
  const safety = task.safetyCheck && !outlook.firstLook
  const windowTo = safety ? nominalOn : frame.windowTo
  const hardLimitOn = safety ? nominalOn : frame.hardLimitOn
  const shifted = shiftToOpenDay(table, {
    likelyOn: nominalOn,
    care,
    today: context.input.today,
    lastDoneOn: last?.doneOn ?? null,
    lengthDays: frame.lengthDays,
    hardLimitOn: frame.hardLimitOn,
    safetyCheck: safety,
  })
  const dueOn = shifted ?? nominalOn
  return {
    kind: kindOf(outlook, governing),
    nominalOn,
    windowFrom: Math.min(frame.windowFrom, nominalOn),
    windowTo,
    hardLimitOn,
    dueOn,
    lateFrom: outlook.firstLook ? null : lateFromDay(table, care, { nominalOn, dueOn, windowTo, safetyCheck: safety }),
    needsPerson: shifted === null,
    governing: governing.trigger,
    basis: governing.basis,
    care,
    neverLate: outlook.firstLook,
    urgentAllowed:
      governing.trigger !== 'wear' &&
      (governing.strips === undefined || context.usage.kinds.some((kind) => kind === 'counter' || kind === 'strips')),
  }
}
