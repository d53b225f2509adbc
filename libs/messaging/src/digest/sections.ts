import type { ReminderStage } from '@tapewarden/shared'
import type { CareLine, MailInput } from './model.js'

/** A section of a mail stays readable in a minute; the desk holds the rest. */
export const MOST_LINES = 40

export const CARE_SECTIONS = ['late', 'passed_on', 'due', 'coming_due'] as const
export type CareSection = (typeof CARE_SECTIONS)[number]
export type Section = CareSection | 'month_list' | 'month_left'

/** Where a stage stands in the mail, and its weight: of one occurrence only the gravest stage is said. */
const PLACES: Readonly<Record<ReminderStage, { section: Section; weight: number }>> = {
  month_list: { section: 'month_list', weight: 0 },
  month_last_week: { section: 'month_left', weight: 1 },
  coming_due: { section: 'coming_due', weight: 2 },
  due: { section: 'due', weight: 3 },
  earlier_than_said: { section: 'due', weight: 4 },
  first_look_missed: { section: 'late', weight: 5 },
  late: { section: 'late', weight: 6 },
  passed_on_1: { section: 'passed_on', weight: 7 },
  passed_on_2: { section: 'passed_on', weight: 8 },
  passed_on_3: { section: 'passed_on', weight: 9 },
  hard_limit_tomorrow: { section: 'late', weight: 10 },
  past_hard_limit: { section: 'passed_on', weight: 11 },
  safety_finding: { section: 'late', weight: 12 },
}

export function sectionOf(stage: ReminderStage): Section {
  return PLACES[stage].section
}

const byLetters = new Intl.Collator('en').compare

function inWalkingOrder(left: CareLine, right: CareLine): number {
  return left.walkingOrder - right.walkingOrder || byLetters(left.labelCode, right.labelCode) || byLetters(left.taskName, right.taskName)
}

/** Each occurrence once, under its gravest stage; by due date, then in walking order. */
export function gravestOnly(lines: readonly CareLine[]): CareLine[] {
  const found = new Map<string, CareLine>()
  for (const line of lines) {
    const kept = found.get(line.occurrenceId)
    const graver = !kept || PLACES[line.stage].weight > PLACES[kept.stage].weight
    // Said to the reader and, as a cover, for someone else: the reader's own stays.
    const own = kept && PLACES[line.stage].weight === PLACES[kept.stage].weight && line.forName === null
    if (graver || own) found.set(line.occurrenceId, line)
  }
  return [...found.values()].sort(
    (left, right) => (left.dueOn < right.dueOn ? -1 : Number(left.dueOn > right.dueOn)) || inWalkingOrder(left, right),
  )
}

export function linesIn(lines: readonly CareLine[], section: Section): CareLine[] {
  return lines.filter((line) => sectionOf(line.stage) === section)
}

/** The lines that the mail shows and its calendar file too, section by section; the month's round has no day of its own. */
export function shownWithDay({ care, maybeSaid }: Pick<MailInput, 'care' | 'maybeSaid'>): CareLine[] {
  const gravest = gravestOnly([...care, ...maybeSaid])
  return CARE_SECTIONS.flatMap((section) => linesIn(gravest, section).slice(0, MOST_LINES))
}

export interface MachineLines {
  labelCode: string
  stationName: string | null
  lines: readonly CareLine[]
}

/** One entry a machine, in walking order. */
export function byMachine(lines: readonly CareLine[]): MachineLines[] {
  const found = new Map<string, CareLine[]>()
  for (const line of [...lines].sort(inWalkingOrder)) found.set(line.machineId, [...(found.get(line.machineId) ?? []), line])
  return [...found.values()].map((own) => ({ labelCode: own[0]!.labelCode, stationName: own[0]!.stationName, lines: own }))
}
