import { encode as toBase64, wrap as foldBase64 } from 'nodemailer/lib/base64'
import { encode as toQuotedPrintable, wrap as foldQuotedPrintable } from 'nodemailer/lib/qp'

/** A part of a mail as the library has put it together, as far as it is needed here. */
export interface MailPart {
  readonly childNodes: readonly MailPart[]
  readonly boundary: string | false
  readonly content?: unknown
  buildHeaders(): string
  getHeader(key: string): unknown
}

function bodyOf(part: MailPart): string {
  const { content = '' } = part
  if (typeof content !== 'string') throw new Error('A mail has a part that is not text.')
  const encoding = String(part.getHeader('Content-Transfer-Encoding'))
  if (encoding === 'base64') return foldBase64(toBase64(content))
  return encoding === 'quoted-printable' ? foldQuotedPrintable(toQuotedPrintable(content)) : content
}

/**
 * The text of a mail as the library's own stream writes it, but at once: headers, boundaries and encodings are the
 * library's. Its stream takes some ten streams and as many turns of the event loop a mail, which is most of the time of sending one.
 */
export function wholeMail(part: MailPart): string {
  const head = `${part.buildHeaders()}\r\n\r\n`
  if (part.childNodes.length === 0) return head + bodyOf(part)
  return `${head}--${part.boundary}\r\n${part.childNodes.map(wholeMail).join(`\r\n--${part.boundary}\r\n`)}\r\n--${part.boundary}--\r\n`
}
