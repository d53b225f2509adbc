import { languageOf, Words } from '../catalogue/words.js'
import { writeHtml } from '../digest/as-html.js'
import { writeText } from '../digest/as-text.js'
import { oneLine } from '../digest/lines.js'
import type { MailDocument, RenderedMail } from '../digest/model.js'

/** A mail about somebody's own account: it carries a link that works once. */
export interface AccountMail {
  kind: 'invitation' | 'reset'
  person: { name: string; language: string }
  organisationName: string
  /** Who invites; empty for a reset. */
  inviterName: string
  url: string
  today: string
}

export function renderAccountMail({ kind, person, organisationName, inviterName, url, today }: AccountMail): RenderedMail {
  const words = new Words(languageOf(person.language), 'si', today)
  const organisation = oneLine(organisationName)
  const document: MailDocument = {
    language: words.language,
    subject: words.say(`account.${kind}.subject`, { organisation }),
    blocks: [
      { kind: 'paragraph', text: words.say('greeting', { name: oneLine(person.name) }) },
      { kind: 'paragraph', text: words.say(`account.${kind}.lead`, { organisation, inviter: oneLine(inviterName) }) },
      { kind: 'link', text: words.say(`account.${kind}.link`), url },
      { kind: 'small', text: words.say(`account.${kind}.note`) },
    ],
  }
  return { subject: document.subject, text: writeText(document), html: writeHtml(document), calendarFile: null }
}
