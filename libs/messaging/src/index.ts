export { type AccountMail, renderAccountMail } from './account/account-mail.js'
export { escapeText, foldLine, type CalendarHead, type WholeDayEvent, writeCalendar } from './calendar/icalendar.js'
export { LANGUAGES, languageOf, type Language, Words } from './catalogue/words.js'
export { renderMail } from './digest/render.js'
export type { CareLine, HandOver, MailInput, MailKind, NoteKind, OrderLine, PartLine, RenderedMail } from './digest/model.js'
export { gravestOnly, sectionOf } from './digest/sections.js'
export { addressMail, headersOf, isMailAddress, type MailToSend, messageIdOf } from './mail/headers.js'
export { createMailer, type Mailer, type SendPhase } from './mail/mailer.js'
export { judgeFailure, retryDelayMs, type SendOutcome } from './mail/outcome.js'
export { type DigestWishes, digestOpenSince, digestSpans, isDigestDay, nextDigestAt, type Waiting } from './timing/digest-time.js'
export {
  dayAfter,
  type LocalMoment,
  localMoment,
  nextWorkingInstant,
  type Span,
  wallInstant,
  type WarehouseHours,
  workingSpan,
} from './timing/working-hours.js'
export { type FeedCare, type FeedInput, type FeedRound, type FeedVisit, writeFeed } from './calendar/feed.js'
export { type BounceReport, parseBounce, type ParsedBounce } from './bounce/parse-bounce.js'
export { newWebhookSecret, webhookHeaders } from './webhook/sign.js'
export { type NoteFacts, type NoteInput, renderNote, type SignInChange } from './digest/note.js'
