import type { DigestKind, ReminderStage } from '@tapewarden/shared'

/** The section of a digest in which a stage stands, as people choose kinds. */
const KINDS: Readonly<Record<ReminderStage, DigestKind>> = {
  coming_due: 'coming_due',
  due: 'due',
  earlier_than_said: 'due',
  late: 'late',
  first_look_missed: 'late',
  hard_limit_tomorrow: 'late',
  safety_finding: 'late',
  passed_on_1: 'passed_on',
  passed_on_2: 'passed_on',
  passed_on_3: 'passed_on',
  past_hard_limit: 'passed_on',
  month_list: 'month_list',
  month_last_week: 'month_list',
}

export function kindOfStage(stage: ReminderStage): DigestKind {
  return KINDS[stage]
}

/** Only announcing: where a person does not want them they are not said. Every other kind goes to whoever stands in. */
export function mayFallAway(kind: DigestKind): boolean {
  return kind === 'coming_due' || kind === 'work_orders' || kind === 'parts'
}
