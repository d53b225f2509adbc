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

/** A mail about the mails: to who answers for them, never turned off, with no calendar. */
export function renderNote({ person, today, facts, healthUrl, deskUrl }: NoteInput): RenderedMail {
  const words = new Words(languageOf(person.language), person.units, today)
  const { subject, lines } = said(words, facts)
  const blocks: Block[] = [
    { kind: 'paragraph', text: words.say('greeting', { name: oneLine(person.name) }) },
    ...lines.map((text): Block => ({ kind: 'paragraph', text })),
    facts.kind === 'test_mail' || facts.kind === 'webhook_off'
      ? { kind: 'link', text: words.say('link.desk'), url: deskUrl }
      : { kind: 'link', text: words.say('link.health'), url: healthUrl },
    { kind: 'small', text: words.say(facts.kind === 'test_mail' ? 'footer.test_mail' : 'footer.account') },
  ]
  const document: MailDocument = { language: words.language, subject, blocks }
  return { subject, text: writeText(document), html: writeHtml(document), calendarFile: null }
}
