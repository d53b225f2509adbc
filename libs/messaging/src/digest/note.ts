import { languageOf, Words } from '../catalogue/words.js'
import { writeHtml } from './as-html.js'
import { writeText } from './as-text.js'
import { oneLine } from './lines.js'
import type { Block, MailDocument, MailInput, RenderedMail } from './model.js'

export type NoteFacts =
  | { kind: 'queue_stuck' | 'workers_silent'; messages: number; reminders: number; seconds: number }
  /** day: local 'YYYY-MM-DD' of the mail that was given up. */
  | { kind: 'not_in_time'; warehouse: string; name: string; day: string; reason: string }
  | { kind: 'test_mail'; warehouse: string; asker: string }
  /** A program that was told until it did not listen any more; host: where. */
  | { kind: 'webhook_off'; name: string; host: string; reason: string }
  /** at: instant, ISO 8601 in UTC; by: who did it for them, empty where they did it themselves. */
  | { kind: 'sign_in_changed'; change: SignInChange; at: string; by: string }

/** What became of somebody's ways of signing in. */
export type SignInChange = 'password' | 'codes_on' | 'codes_off' | 'recovery_codes' | 'passkey_added' | 'passkey_forgotten' | 'taken_away'

export interface NoteInput {
  person: MailInput['person']
  today: string
  facts: NoteFacts
  healthUrl: string
  deskUrl: string
}

function said(words: Words, facts: NoteFacts): { subject: string; lines: string[] } {
  if (facts.kind === 'test_mail') {
    const values = { warehouse: oneLine(facts.warehouse), asker: oneLine(facts.asker) }
    return { subject: words.say('subject.test_mail', values), lines: [words.say('lead.test_mail', values)] }
  }
  if (facts.kind === 'webhook_off') {
    const values = { name: oneLine(facts.name), host: oneLine(facts.host), reason: oneLine(facts.reason) }
    return { subject: words.say('subject.webhook_off', values), lines: [words.say('lead.webhook_off', values)] }
  }
  if (facts.kind === 'sign_in_changed') {
    const values = { date: words.date(facts.at.slice(0, 10)), time: facts.at.slice(11, 16), by: oneLine(facts.by) }
    return {
      subject: words.say('subject.sign_in_changed'),
      lines: [words.say(`lead.sign_in_changed.${facts.change}`, values), words.say('note.sign_in_changed')],
    }
  }
  if (facts.kind !== 'not_in_time') {
    const { kind, messages, reminders, seconds } = facts
    return {
      subject: words.say(`subject.${kind}`),
      lines: [words.say(`lead.${kind}`, { messages, reminders, seconds }), words.say(`note.${kind}`)],
    }
  }
  const values = {
    warehouse: oneLine(facts.warehouse),
    name: oneLine(facts.name),
    reason: oneLine(facts.reason),
    date: words.date(facts.day),
  }
  return { subject: words.say('subject.not_in_time', values), lines: [words.say('lead.not_in_time', values)] }
}

/** Not about what stands still. */
const ABOUT_OTHERS: ReadonlySet<NoteFacts['kind']> = new Set(['test_mail', 'webhook_off', 'sign_in_changed'])

function footerOf(kind: NoteFacts['kind']) {
  if (kind === 'test_mail') return 'footer.test_mail'
  return kind === 'sign_in_changed' ? 'footer.sign_in_changed' : 'footer.account'
}

/** A mail about the mails, or about one's own account: to who answers for them, never turned off, with no calendar. */
export function renderNote({ person, today, facts, healthUrl, deskUrl }: NoteInput): RenderedMail {
  const words = new Words(languageOf(person.language), person.units, today)
  const { subject, lines } = said(words, facts)
  const blocks: Block[] = [
    { kind: 'paragraph', text: words.say('greeting', { name: oneLine(person.name) }) },
    ...lines.map((text): Block => ({ kind: 'paragraph', text })),
    ABOUT_OTHERS.has(facts.kind)
      ? { kind: 'link', text: words.say('link.desk'), url: deskUrl }
      : { kind: 'link', text: words.say('link.health'), url: healthUrl },
    { kind: 'small', text: words.say(footerOf(facts.kind)) },
  ]
  const document: MailDocument = { language: words.language, subject, blocks }
  return { subject, text: writeText(document), html: writeHtml(document), calendarFile: null }
}
