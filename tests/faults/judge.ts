/** Decides from the sink's ledger, not from what the system says of itself, what was lost and what came twice. */
import { simpleParser } from 'mailparser'
import type { MailOrganisation } from '../support/mail-organisation.js'
import type { TakenMail } from '../support/smtp-sink.js'
import type { Ground } from './ground.js'

export interface Verdict {
  reminders: number
  lost: number
  doubled: number
  uncertain: number
  notes: string[]
}

interface ReminderRow extends Record<string, unknown> {
  id: string
  label: string
  email: string
  message: string | null
  state: string | null
  open: boolean
}

const REMINDERS = `
  SELECT r.id, k.label_code AS label, p.email, r.message_id AS message, m.state, o.state = 'open' AS open
  FROM reminder r JOIN occurrence o ON o.id = r.occurrence_id JOIN machine k ON k.id = o.machine_id
  JOIN person p ON p.id = r.person_id LEFT JOIN message m ON m.id = r.message_id`

/** Labels that stand in a mail, and whether they stand under 'you may have had this already'. */
async function labelsOf(raw: string): Promise<Set<string>> {
  const text = (await simpleParser(raw)).text ?? ''
  return new Set(text.split('You may have had this already')[0]?.match(/M-[\w-]+-\d{4}/g) ?? [])
}

const sayTaken = ({ messageId, at, acknowledged }: TakenMail): string =>
  `${messageId} at ${new Date(at).toISOString()} (${acknowledged ? 'answered' : 'not answered'})`

async function judgeOne(
  ground: Ground,
  { organisationId, reminderIds }: MailOrganisation,
  told: ReadonlyMap<string, TakenMail[]>,
): Promise<Verdict> {
  const rows = await ground.database.withOrganisationSql(organisationId, (scope) => scope.rows<ReminderRow>(REMINDERS))
  const asked = new Set(reminderIds)
  // A pass that runs meanwhile may have more to say of the same machine: another stage, or another occurrence.
  const reasons = new Map<string, number>()
  for (const { email, label, message } of rows)
    if (message !== null) reasons.set(`${email} ${label}`, (reasons.get(`${email} ${label}`) ?? 0) + 1)
  const verdict: Verdict = { reminders: 0, lost: 0, doubled: 0, uncertain: 0, notes: [] }
  for (const row of rows) {
    if (!asked.has(row.id)) continue
    verdict.reminders += 1
    const by = told.get(`${row.email} ${row.label}`) ?? []
    const times = by.length
    const uncertain = row.state === 'uncertain'
    // What a pass closed before it was said need not be said; twice it must not be said either.
    if (times === 0 && !uncertain && row.open) {
      verdict.lost += 1
      verdict.notes.push(`${row.label} to ${row.email} was never told; its message is ${row.state ?? 'not there'}`)
    }
    if (times > Math.max(1, reasons.get(`${row.email} ${row.label}`) ?? 0)) {
      verdict.doubled += 1
      verdict.notes.push(
        `${row.label} was told ${times} times to ${row.email}, by ${by.map(sayTaken).join(' and ')}; its message ${row.message ?? ''} is ${row.state ?? 'not there'}`,
      )
    }
  }
  verdict.uncertain = new Set(rows.filter(({ state }) => state === 'uncertain').map(({ message }) => message)).size
  return verdict
}

const MOST_NOTES = 10

/** Several verdicts as one, with the first few notes. */
export function sumOf(verdicts: readonly Verdict[]): Verdict {
  const sum: Verdict = { reminders: 0, lost: 0, doubled: 0, uncertain: 0, notes: [] }
  for (const one of verdicts) {
    for (const key of ['reminders', 'lost', 'doubled', 'uncertain'] as const) sum[key] += one[key]
    sum.notes.push(...one.notes.slice(0, MOST_NOTES - sum.notes.length))
  }
  return sum
}

/** One verdict over several organisations; the sink's ledger is read once. */
export async function judge(ground: Ground, organisations: readonly MailOrganisation[]): Promise<Verdict> {
  const told = new Map<string, TakenMail[]>()
  for (const mail of ground.sink.taken)
    for (const label of await labelsOf(mail.raw)) {
      const key = `${mail.to} ${label}`
      told.set(key, [...(told.get(key) ?? []), mail])
    }
  const verdicts: Verdict[] = []
  for (const organisation of organisations) verdicts.push(await judgeOne(ground, organisation, told))
  const sum = sumOf(verdicts)
  if (sum.lost + sum.doubled > 0) {
    ground.keepLogs = true
    console.error(sum.notes.join('\n'))
  }
  return sum
}
