import { createTransport, type SentMessageInfo } from 'nodemailer'
import type { Readable, Writable } from 'node:stream'
import { headerText, type MailToSend } from './headers.js'
import { type AttemptError, judgeFailure, type SendOutcome } from './outcome.js'
import { type MailPart, wholeMail } from './whole-mail.js'

/** Points of one attempt, in order; told as they pass. */
export type SendPhase = 'data_begins' | 'body_written'

export interface MailerSettings {
  smtpUrl: string
  /** DKIM signing, where a key is set. */
  dkim?: { domainName: string; keySelector: string; privateKey: string } | undefined
  /** Connections at once. */
  most?: number
  /** Longest silence of the server, milliseconds; RFC 5321, 4.5.3.2.6 gives it ten minutes after the final dot. */
  silenceMs?: number
  /** Longest time of one attempt, waiting for a free connection included; a server may trickle without ever being silent. */
  longestMs?: number
}

export interface Mailer {
  send(mail: MailToSend, onPhase?: (phase: SendPhase) => void): Promise<SendOutcome>
  close(): void
}

interface Attempt {
  dataBegun: boolean
  onPhase: ((phase: SendPhase) => void) | undefined
}

/** What the library shows of a mail to its plug-ins, as far as we touch it. */
interface PluginMail {
  data: { attempt?: Attempt }
  message: MailPart & {
    createReadStream(...given: unknown[]): Readable
    stream(into: Writable, options: unknown, done: (error?: Error | null) => void): void
  }
}

/**
 * The library begins to pipe the body exactly when the server has answered DATA with 354. That moment is the
 * border between 'certainly not delivered' and 'nobody knows', and errors do not tell it: a lost connection looks
 * the same in every phase.
 */
function watchData(mail: PluginMail, done: (error?: Error | null) => void): void {
  const { attempt } = mail.data
  if (attempt) {
    const { message } = mail
    // In one piece: the library's dozens of small ones would each be a write to the socket, and with TLS a record.
    message.stream = (into, _options, written) => {
      into.write(wholeMail(message))
      written()
    }
    const create = message.createReadStream.bind(message)
    message.createReadStream = (...given) => {
      const body = create(...given)
      const pipe = body.pipe.bind(body)
      body.pipe = (target, options) => {
        attempt.dataBegun = true
        attempt.onPhase?.('data_begins')
        target.once('finish', () => attempt.onPhase?.('body_written'))
        return pipe(target, options)
      }
      return body
    }
  }
  done()
}

function letterOf(mail: MailToSend) {
  return {
    messageId: mail.messageId,
    from: mail.from,
    to: { name: mail.to.name, address: mail.to.address },
    subject: mail.subject,
    text: mail.text,
    html: mail.html,
    // 'prepared': written as they stand. A folded List-Unsubscribe has been seen to break signatures on the way.
    headers: Object.fromEntries(Object.entries(mail.headers).map(([key, value]) => [key, { prepared: true, value: headerText(value) }])),
    disableFileAccess: true,
    disableUrlAccess: true,
    attachments:
      mail.calendarFile === null
        ? []
        : [{ filename: 'care.ics', contentType: 'text/calendar; charset=utf-8; method=PUBLISH', content: mail.calendarFile }],
  }
}

/** RFC 8058, 4 wants both fields of the unsubscribing under the signature; the library's own list has but one of them. */
const SIGNED_FIELDS =
  'From:To:Subject:Date:Message-ID:MIME-Version:Content-Type:Content-Transfer-Encoding:Auto-Submitted:List-Unsubscribe:List-Unsubscribe-Post'

export function createMailer({ smtpUrl, dkim, most = 5, silenceMs = 600_000, longestMs = 900_000 }: MailerSettings): Mailer {
  const transport = createTransport({
    url: smtpUrl,
    pool: true,
    maxConnections: most,
    // Nor does the library try by itself: what it handed over twice would stand in no book of ours.
    maxRequeues: 0,
    connectionTimeout: 20_000,
    greetingTimeout: 20_000,
    socketTimeout: silenceMs,
    ...(dkim ? { dkim: { ...dkim, headerFieldNames: SIGNED_FIELDS } } : {}),
  })
  transport.use('stream', watchData as never)
  return {
    async send(mail, onPhase) {
      const attempt: Attempt = { dataBegun: false, onPhase }
      const tooLong = new AbortController()
      const timer = setTimeout(() => tooLong.abort(new Error('The attempt took too long.')), longestMs)
      try {
        const info = (await transport.sendMail({
          ...letterOf(mail),
          attempt,
          signal: tooLong.signal,
        } as never)) as SentMessageInfo
        return { outcome: 'sent', response: String(info.response ?? '').slice(0, 200) }
      } catch (error) {
        return judgeFailure(error as AttemptError, attempt.dataBegun)
      } finally {
        clearTimeout(timer)
      }
    },
    close: () => transport.close(),
  }
}
