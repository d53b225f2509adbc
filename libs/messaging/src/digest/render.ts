import { writeHtml } from './as-html.js'
import { writeText } from './as-text.js'
import { writeCalendarFile } from './calendar-file.js'
import { composeDocument } from './document.js'
import type { MailInput, RenderedMail } from './model.js'

/** Rows in, mail out: subject, text, HTML and calendar file. Reads no clock and no setting. */
export function renderMail(input: MailInput): RenderedMail {
  const document = composeDocument(input)
  return { subject: document.subject, text: writeText(document), html: writeHtml(document), calendarFile: writeCalendarFile(input) }
}
