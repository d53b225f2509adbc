/** What a form changes of a stoppage, and what somebody else did meanwhile. Pure. */
import type { PatchStoppageRequest } from '@tapewarden/shared'
import { sayCount } from '../ui/format.js'
import { notBefore, readWall } from '../ui/wall-read.js'
import { type MomentKey, MOMENTS, type One, sayChoice, sayMoment } from './stoppage-words.js'

type Form = Pick<FormData, 'get'>
type Waits = NonNullable<PatchStoppageRequest['waits']>
type Facts = Pick<PatchStoppageRequest, 'planned' | 'failureMode' | 'componentKey' | 'cause' | 'noticedHow' | 'reportedBy' | 'note'>
/** A line of the form: what was known of the wait before, or nothing. */
export interface WaitLine {
  key: number
  known: One['waits'][number] | null
}

function momentsOf(form: Form, base: One): Record<MomentKey, string | null> {
  const { zone } = base.warehouse
  let before: string | null = null
  const out = {} as Record<MomentKey, string | null>
  for (const [key] of MOMENTS) {
    const typed = readWall(form, key, zone, base[key])
    out[key] = typed === null || typed === base[key] ? typed : notBefore(typed, before)
    before = out[key] ?? before
  }
  return out
}

export function waitsOf(form: Form, lines: readonly WaitLine[], zone: string, failedAt: string | null): Waits {
  return lines.flatMap(({ key, known }) => {
    const fromAt = readWall(form, `wait-${key}-from`, zone, known?.fromAt ?? null)
    const toAt = readWall(form, `wait-${key}-to`, zone, known?.toAt ?? null)
    if (fromAt === null) return []
    const from = notBefore(fromAt, failedAt)
    const reason = String(form.get(`wait-${key}-reason`)) as Waits[number]['reason']
    return [{ reason, fromAt: from, toAt: toAt === null ? null : notBefore(toAt, from) }]
  })
}

/** Only what the form has otherwise than it was: what somebody else changed meanwhile is not put back. */
export function changesOf(form: Form, lines: readonly WaitLine[], base: One): PatchStoppageRequest {
  const moments = momentsOf(form, base)
  const waits = waitsOf(form, lines, base.warehouse.zone, moments.failedAt)
  const facts: Facts = {
    planned: form.get('planned') === 'on',
    failureMode: String(form.get('failureMode')) as NonNullable<Facts['failureMode']>,
    componentKey: String(form.get('componentKey')) || null,
    cause: String(form.get('cause')) as NonNullable<Facts['cause']>,
    noticedHow: String(form.get('noticedHow')) as NonNullable<Facts['noticedHow']>,
    reportedBy: String(form.get('reportedBy')).trim(),
    note: String(form.get('note')),
  }
  const changed = Object.entries({ ...moments, ...facts, waits }).filter(
    ([key, value]) => JSON.stringify(value) !== JSON.stringify(base[key as keyof One]),
  )
  return Object.fromEntries(changed) as PatchStoppageRequest
}

const FACTS = [
  ['failureMode', 'What was wrong'],
  ['cause', 'Cause'],
  ['componentKey', 'Part of the machine'],
  ['noticedHow', 'Noticed by'],
  ['reportedBy', 'Who told it'],
  ['planned', 'Planned'],
  ['note', 'Note'],
  ['waits', 'Waits'],
] as const
export const FIELD_NAMES: Readonly<Record<string, string>> = Object.fromEntries([...MOMENTS, ...FACTS])

type Changed = Partial<Pick<One, MomentKey | (typeof FACTS)[number][0]>>

/** One field's value, as people say it. */
function sayValue(key: keyof Changed, value: unknown, zone: string, today: string): string {
  if (value === null || value === undefined || value === '') return 'nothing'
  if (Array.isArray(value)) return sayCount(value.length, 'wait', 'waits')
  if (typeof value === 'boolean') return value ? 'yes' : 'no'
  if (key === 'note' || key === 'reportedBy') return `‘${String(value)}’`
  return MOMENTS.some(([moment]) => moment === key) ? sayMoment(String(value), zone, today) : sayChoice(String(value))
}

/** 'Cause: from not known to wear', a field each. */
export function sayChanges(before: Changed, after: Changed, zone: string, today: string): string[] {
  return [...MOMENTS, ...FACTS]
    .filter(([key]) => JSON.stringify(before[key] ?? null) !== JSON.stringify(after[key] ?? null))
    .map(([key, name]) => `${name}: from ${sayValue(key, before[key], zone, today)} to ${sayValue(key, after[key], zone, today)}`)
}
