/** Every kind of mail over real SMTP with a real key: read by a parser that is not ours, the signature checked apart. */
import { createPublicKey, generateKeyPairSync } from 'node:crypto'
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals'
import { type ParsedMail, simpleParser } from 'mailparser'
import { checkDkim } from '../../../../tests/support/dkim-check.js'
import { type SmtpSink, startSmtpSink } from '../../../../tests/support/smtp-sink.js'
import type { CareLine, MailInput, NoteKind, RenderedMail } from '../digest/model.js'
import { type NoteFacts, renderNote } from '../digest/note.js'
import { renderMail } from '../digest/render.js'
import { addressMail, messageIdOf } from './headers.js'
import { createMailer, type Mailer } from './mailer.js'

// A busy machine takes ten times as long.
jest.setTimeout(60_000)

const { privateKey, publicKey } = generateKeyPairSync('rsa', { modulusLength: 2048 })
const pem = privateKey.export({ type: 'pkcs8', format: 'pem' }) as string
const ROW = '018f0000-0000-7000-8000-000000000001'
/** A name that would like to be a header, in signs of two and four octets. */
const NASTY = 'Hälle 🧰\r\nBcc: evil@example.org\r\n\r\nX-Evil: yes'
const UNSUBSCRIBE = `https://care.example/unsubscribe/${'x'.repeat(220)}`

const line: CareLine = {
  occurrenceId: ROW,
  version: 3,
  stage: 'late',
  machineId: ROW,
  labelCode: 'M-1',
  stationName: NASTY,
  walkingOrder: 1,
  taskName: NASTY,
  minutes: 15,
  safetyCheck: true,
  nominalOn: '2026-03-01',
  dueOn: '2026-03-01',
  lateFrom: '2026-03-02',
  hardLimitOn: '2026-03-10',
  doBy: null,
  earlyOn: null,
  lateOn: null,
  forName: null,
}

function careMail(kind: MailInput['kind'], language: string): RenderedMail {
  return renderMail({
    kind,
    person: { name: NASTY, language, units: 'si' },
    warehouse: { id: ROW, name: NASTY },
    today: '2026-03-03',
    now: new Date('2026-03-03T10:00:00Z'),
    care: [line],
    maybeSaid: [],
    parts: [{ name: NASTY, stockCode: 'B-1', quantity: 2, orderBy: '2026-03-09' }],
    handOver: kind === 'hand_over' ? { name: NASTY, machines: 14 } : null,
    round: null,
    deskUrl: 'https://care.example/',
    unsubscribeUrl: kind === 'digest' ? UNSUBSCRIBE : null,
  })
}

const FACTS: Readonly<Record<NoteKind, NoteFacts>> = {
  queue_stuck: { kind: 'queue_stuck', messages: 3, reminders: 0, seconds: 90 },
  workers_silent: { kind: 'workers_silent', messages: 3, reminders: 1, seconds: 90 },
  not_in_time: { kind: 'not_in_time', warehouse: NASTY, name: NASTY, day: '2026-03-01', reason: `451 ${NASTY}` },
  test_mail: { kind: 'test_mail', warehouse: NASTY, asker: NASTY },
  webhook_off: { kind: 'webhook_off', name: NASTY, host: NASTY, reason: NASTY },
  sign_in_changed: { kind: 'sign_in_changed', change: 'taken_away', at: '2026-03-03T09:58:00.000Z', by: NASTY },
}
const note = (kind: NoteKind, language: string) =>
  renderNote({
    person: { name: NASTY, language, units: 'si' },
    today: '2026-03-03',
    facts: FACTS[kind],
    healthUrl: 'https://care.example/health',
    deskUrl: 'https://care.example/',
  })

const CARE = ['digest', 'hard_limit', 'safety_finding', 'hand_over'] as const
const NOTES = ['queue_stuck', 'workers_silent', 'not_in_time', 'test_mail', 'webhook_off', 'sign_in_changed'] as const
const ALL = (['en', 'de'] as const).flatMap((language) => [
  ...CARE.map((kind) => [kind, language, () => careMail(kind, language)] as const),
  ...NOTES.map((kind) => [kind, language, () => note(kind, language)] as const),
])

let sink: SmtpSink
let mailer: Mailer
beforeAll(async () => {
  sink = await startSmtpSink()
  mailer = createMailer({ smtpUrl: sink.url, most: 1, dkim: { domainName: 'care.example', keySelector: 'march', privateKey: pem } })
})
afterAll(async () => {
  mailer.close()
  await sink.stop()
})

/** Sends one; the sink's text has its dots still doubled (RFC 5321, 4.5.2). */
async function arrived(rendered: RenderedMail, mayBeTurnedOff: boolean): Promise<{ raw: string; mail: ParsedMail }> {
  const letter = addressMail(rendered, {
    rowId: ROW,
    publicUrl: 'https://care.example',
    from: 'Tapewarden <care@care.example>',
    to: { name: NASTY, address: 'ada@example.org' },
    unsubscribeUrl: mayBeTurnedOff ? UNSUBSCRIBE : null,
  })
  expect((await mailer.send(letter)).outcome).toBe('sent')
  const raw = `${sink.taken.at(-1)!.raw.replace(/^\.\./gm, '.')}\r\n`
  return { raw, mail: await simpleParser(Buffer.from(raw, 'latin1')) }
}

describe.each(ALL)('%s in %s', (kind, _language, render) => {
  it('is read by another parser, says nothing that a name put there, and its signature holds', async () => {
    const { raw, mail } = await arrived(render(), kind === 'digest')
    expect(mail.messageId).toBe(messageIdOf(ROW, 'https://care.example'))
    expect(mail.headers.get('auto-submitted')).toBe('auto-generated')
    expect(mail.from?.value).toMatchObject([{ address: 'care@care.example' }])
    expect([mail.to].flat().flatMap((to) => to?.value.map(({ address }) => address))).toEqual(['ada@example.org'])
    expect(mail.date).toBeInstanceOf(Date)
    expect([mail.bcc, mail.headers.get('x-evil')]).toEqual([undefined, undefined])
    expect(mail.subject).not.toMatch(/[\r\n]/)
    expect(mail.text).toBeTruthy()
    expect(mail.html).toContain('</html>')
    const names = mail.headerLines.map(({ key }) => key)
    for (const name of ['list-unsubscribe', 'list-unsubscribe-post']) expect(names.includes(name)).toBe(kind === 'digest')
    expect(new Set(names).size).toBe(names.length)
    for (const text of raw.split('\r\n')) expect(text.length).toBeLessThanOrEqual(998)
    expect(raw).not.toMatch(/[^\r]\n/)

    const checked = checkDkim(raw, createPublicKey(publicKey.export({ type: 'spki', format: 'pem' })))
    expect(checked).toMatchObject({ bodyHolds: true, signatureHolds: true, domain: 'care.example', selector: 'march' })
    // RFC 8058, 4: both fields of the unsubscribing are covered.
    const covered = [
      'from',
      'to',
      'subject',
      'date',
      'message-id',
      'auto-submitted',
      ...(kind === 'digest' ? ['list-unsubscribe', 'list-unsubscribe-post'] : []),
    ]
    expect(checked.signed).toEqual(expect.arrayContaining(covered))
  })
})

describe('the check itself', () => {
  it('finds one changed sign in the body, in a signed header, and a wrong key', async () => {
    const { raw } = await arrived(careMail('digest', 'en'), true)
    const bodyAt = raw.indexOf('\r\n\r\n') + 200
    const changedBody = `${raw.slice(0, bodyAt)}${raw[bodyAt] === 'x' ? 'y' : 'x'}${raw.slice(bodyAt + 1)}`
    expect(checkDkim(changedBody, publicKey).bodyHolds).toBe(false)
    expect(checkDkim(raw.replace('List-Unsubscribe: <https://care', 'List-Unsubscribe: <https://evil'), publicKey).signatureHolds).toBe(
      false,
    )
    expect(checkDkim(raw, generateKeyPairSync('rsa', { modulusLength: 2048 }).publicKey).signatureHolds).toBe(false)
    expect(checkDkim(raw, publicKey)).toMatchObject({ bodyHolds: true, signatureHolds: true })
  })
})
