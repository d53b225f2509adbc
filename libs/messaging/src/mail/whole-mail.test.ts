import { describe, expect, it } from '@jest/globals'
import MailComposer from 'nodemailer/lib/mail-composer'
import { type MailPart, wholeMail } from './whole-mail.js'

const LONG = 'Größe und Übersicht des Überwärmungsschutzes über alle Hallen hinweg, '.repeat(40)
const TEXTS: Readonly<Record<string, string>> = {
  nothing: '',
  'one word': 'oil',
  'a dot alone, spaces and tabs at the end': 'a \n.\n\tb\t\n \n',
  'line ends of both kinds': 'a\r\nb\nc\r\n\r\nd',
  'signs of two and four octets in one long line': `${LONG}🧰${LONG}`,
  'long lines of plain letters': 'care '.repeat(4000),
  'equal signs': '='.repeat(300),
  'ends in a space': 'ends in a space ',
}

const composed = (text: string, html: string | undefined, file: string | undefined, textEncoding?: 'base64') =>
  new MailComposer({
    from: 'Hälle <care@care.example>',
    to: { name: 'Ada Übel', address: 'ada@care.example' },
    subject: `Übersicht ${'lang '.repeat(30)}`,
    date: new Date('2026-03-03T10:00:00Z'),
    messageId: '<message-1@care.example>',
    text,
    ...(html === undefined ? {} : { html }),
    baseBoundary: 'always-the-same',
    ...(textEncoding ? { encoding: textEncoding } : {}),
    attachments: file === undefined ? [] : [{ filename: 'care.ics', contentType: 'text/calendar; charset=utf-8', content: file }],
  } as never).compile()

const streamed = (text: string, html?: string, file?: string, textEncoding?: 'base64'): Promise<string> =>
  new Promise((done, failed) =>
    composed(text, html, file, textEncoding).build((error: unknown, bytes: unknown) =>
      error ? failed(error as Error) : done(String(bytes)),
    ),
  )
const atOnce = (...[text, html, file, encoding]: Parameters<typeof streamed>): string =>
  wholeMail(composed(text, html, file, encoding) as unknown as MailPart)

/** Soft line breaks (RFC 2045, 6.7, rule 5) stand elsewhere where a line ends in spaces: the stream keeps those back. */
const unfolded = (text: string): string => text.replaceAll('=\r\n', '')

/** The stream ends every mail with a line's end; the pipeline that both go through adds it here too. */
const ended = (text: string): string => (/\r?\n$/.test(text) ? text : `${text}\r\n`)

describe("a mail put together at once is what the library's stream writes (nodemailer 10.6, compared but for soft line breaks octet by octet)", () => {
  for (const [name, text] of Object.entries(TEXTS)) {
    it(`text alone: ${name}`, async () => {
      expect(unfolded(ended(atOnce(text)))).toBe(unfolded(await streamed(text)))
    })
    it(`text, page and file: ${name}`, async () => {
      expect(unfolded(ended(atOnce(text, `<p>${text}</p>`, text)))).toBe(unfolded(await streamed(text, `<p>${text}</p>`, text)))
    })
    it(`in base64: ${name}`, async () => {
      expect(unfolded(ended(atOnce(text, text, text, 'base64')))).toBe(unfolded(await streamed(text, text, text, 'base64')))
    })
  }

  it('has no line longer than 76 signs where it is folded (RFC 2045, 6.7)', () => {
    for (const text of Object.values(TEXTS))
      for (const line of atOnce(text, text, text).split('\r\n\r\n').slice(1).join('').split(/\r?\n/))
        if (!line.startsWith('Content-')) expect(line.length).toBeLessThanOrEqual(76)
  })

  it('refuses a part that is not text, rather than leave it out', () => {
    const part = composed('a', undefined, 'b') as unknown as { childNodes: { content: unknown }[] }
    part.childNodes[1]!.content = { path: '/etc/hostname' }
    expect(() => wholeMail(part as unknown as MailPart)).toThrow('not text')
  })
})
