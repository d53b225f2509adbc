import type { RenderedMail } from '../digest/model.js'

export interface Recipient {
  name: string
  address: string
}

export interface MailToSend {
  /** Made from the row of the message, so that the same message has the same id whoever sends it. */
  messageId: string
  from: string
  to: Recipient
  subject: string
  text: string
  html: string
  calendarFile: string | null
  headers: Readonly<Record<string, string>>
}

/** Visible characters only, no space, one '@', nothing that ends a header or an envelope address. */
const ADDRESS = /^[^\s@<>(),;:\\"[\]]{1,64}@[^\s@<>(),;:\\"[\]]{1,253}$/u

export function isMailAddress(text: string): boolean {
  return ADDRESS.test(text) && !/\p{Cc}/u.test(text)
}

/** A header's text: no control character, so nothing in a name or note can begin another header. */
export function headerText(text: string): string {
  return text.replace(/[\p{Cc}\u2028\u2029]+/gu, ' ').trim()
}

/** '<message-018f…@host>', the same for every attempt. */
export function messageIdOf(rowId: string, publicUrl: string): string {
  return `<message-${rowId}@${new URL(publicUrl).hostname}>`
}

/**
 * Auto-Submitted (RFC 3834) on every mail; List-Unsubscribe with one-click POST (RFC 8058) where it may be turned off.
 */
export function headersOf(unsubscribeUrl: string | null): Record<string, string> {
  const always = { 'Auto-Submitted': 'auto-generated', 'X-Auto-Response-Suppress': 'All', Precedence: 'bulk' }
  if (unsubscribeUrl === null) return always
  return { ...always, 'List-Unsubscribe': `<${unsubscribeUrl}>`, 'List-Unsubscribe-Post': 'List-Unsubscribe=One-Click' }
}

export interface Addressing {
  rowId: string
  publicUrl: string
  from: string
  to: Recipient
  unsubscribeUrl: string | null
}

export function addressMail(mail: RenderedMail, { rowId, publicUrl, from, to, unsubscribeUrl }: Addressing): MailToSend {
  return {
    messageId: messageIdOf(rowId, publicUrl),
    from,
    to: { name: headerText(to.name), address: to.address },
    subject: headerText(mail.subject),
    text: mail.text,
    html: mail.html,
    calendarFile: mail.calendarFile,
    headers: headersOf(unsubscribeUrl),
  }
}
