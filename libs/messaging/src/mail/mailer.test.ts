import { afterEach, beforeEach, describe, expect, it, jest } from '@jest/globals'
import {
  SMTP_FAULTS,
  SMTP_PHASES,
  type SmtpFault,
  type SmtpPhase,
  type SmtpSink,
  startSmtpSink,
} from '../../../../tests/support/smtp-sink.js'
import type { MailToSend } from './headers.js'
import { createMailer, type Mailer, type SendPhase } from './mailer.js'

// A busy machine takes ten times as long.
jest.setTimeout(60_000)

const letter: MailToSend = {
  messageId: '<message-1@care.example>',
  from: 'Tapewarden <care@care.example>',
  to: { name: 'Ada', address: 'ada@care.example' },
  subject: 'Hall North',
  text: 'Text\n.\nA dot alone on a line.\n',
  html: '<p>Text</p>',
  calendarFile: null,
  headers: { 'Auto-Submitted': 'auto-generated' },
}

let sink: SmtpSink
let mailer: Mailer
beforeEach(async () => {
  sink = await startSmtpSink()
  mailer = createMailer({ smtpUrl: sink.url, most: 1, silenceMs: 400 })
})
afterEach(async () => {
  mailer.close()
  await sink.stop()
})

/**
 * What each fault in each phase must come to. Before the body flows nothing can have been delivered (RFC 5321, 3.3: the
 * transaction begins with the server's answer to DATA and ends with its answer to the final dot); a reply decides;
 * silence or a lost connection after that leaves it open (RFC 1047). A refusal before MAIL is about the server, not the mail.
 */
const EXPECTED: Readonly<Record<SmtpPhase, Readonly<Record<(typeof SMTP_FAULTS)[number], string>>>> = {
  greeting: { '4xx': 'returned', '5xx': 'returned', timeout: 'returned', reset: 'returned', slow: 'sent' },
  ehlo: { '4xx': 'returned', '5xx': 'returned', timeout: 'returned', reset: 'returned', slow: 'sent' },
  mail: { '4xx': 'returned', '5xx': 'refused', timeout: 'returned', reset: 'returned', slow: 'sent' },
  rcpt: { '4xx': 'returned', '5xx': 'refused', timeout: 'returned', reset: 'returned', slow: 'sent' },
  data: { '4xx': 'returned', '5xx': 'refused', timeout: 'returned', reset: 'returned', slow: 'sent' },
  body: { '4xx': 'returned', '5xx': 'refused', timeout: 'uncertain', reset: 'uncertain', slow: 'sent' },
  dot: { '4xx': 'returned', '5xx': 'refused', timeout: 'uncertain', reset: 'uncertain', slow: 'sent' },
  // Comes after a refused mail on the same connection, before the mail in question.
  rset: { '4xx': 'sent', '5xx': 'sent', timeout: 'sent', reset: 'sent', slow: 'sent' },
  // After the answer to the final dot the mail is delivered, whatever follows.
  quit: { '4xx': 'sent', '5xx': 'sent', timeout: 'sent', reset: 'sent', slow: 'sent' },
}

describe('one attempt, by phase and fault', () => {
  for (const phase of SMTP_PHASES)
    for (const fault of SMTP_FAULTS)
      it(`${fault} in ${phase} is ${EXPECTED[phase][fault]}`, async () => {
        sink.fault = (at) => (at === phase ? fault : null)
        if (phase === 'rset') {
          sink.fault = (at) => (at === 'rset' ? fault : at === 'rcpt' ? '5xx' : null)
          expect((await mailer.send(letter)).outcome).toBe('refused')
          sink.fault = (at) => (at === 'rset' ? fault : null)
        }
        const { outcome } = await mailer.send(letter)
        expect(outcome).toBe(EXPECTED[phase][fault])
        expect(sink.taken).toHaveLength(outcome === 'sent' ? 1 : 0)
      })

  it.each(['accept_then_reset', 'accept_then_silence'] satisfies SmtpFault[])(
    '%s is uncertain, and the server holds the mail',
    async (fault) => {
      sink.fault = (at) => (at === 'dot' ? fault : null)
      expect((await mailer.send(letter)).outcome).toBe('uncertain')
      expect(sink.taken).toHaveLength(1)
    },
  )

  it('goes on over a new connection after a fault, and after an idle one was dropped', async () => {
    sink.fault = (at) => (at === 'dot' ? 'reset' : null)
    expect((await mailer.send(letter)).outcome).toBe('uncertain')
    sink.fault = () => null
    expect((await mailer.send(letter)).outcome).toBe('sent')
    expect((await mailer.send(letter)).outcome).toBe('sent')
    expect(sink.taken).toHaveLength(2)
  })

  it('tells its phases in order', async () => {
    const phases: SendPhase[] = []
    await mailer.send(letter, (phase) => phases.push(phase))
    expect(phases).toEqual(['data_begins', 'body_written'])
  })

  it('is returned where no server listens', async () => {
    await sink.stop()
    expect((await mailer.send(letter)).outcome).toBe('returned')
  })

  it('is cut off by its longest time though the server trickles', async () => {
    const impatient = createMailer({ smtpUrl: sink.url, most: 1, silenceMs: 5000, longestMs: 300 })
    sink.fault = (at) => (at === 'dot' ? 'accept_then_silence' : null)
    expect((await impatient.send(letter)).outcome).toBe('uncertain')
    impatient.close()
  })
})
