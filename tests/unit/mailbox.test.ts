/** The local mailbox of `npm start`, by SMTP in and by its pages out. */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { createTransport } from 'nodemailer'

interface Mailbox {
  smtpUrl: string
  pageUrl: string
  stop(): Promise<void>
}
const { startMailbox } = (await import(join(import.meta.dirname, '../../tools/mailbox.mjs'))) as {
  startMailbox(options: { dir: string }): Promise<Mailbox>
}

const dir = mkdtempSync(join(tmpdir(), 'tapewarden-mailbox-'))
let mailbox: Mailbox
const ask = (path: string) => fetch(new URL(path, mailbox.pageUrl))

beforeAll(async () => {
  mailbox = await startMailbox({ dir })
  const transport = createTransport(mailbox.smtpUrl)
  await transport.sendMail({
    from: 'care@care.example',
    to: 'Ada <ada@care.example>',
    subject: 'Hall <b>North</b>',
    text: 'Three & more',
    html: '<p>Three</p><script>alert(1)</script>',
    attachments: [{ filename: 'care.ics', content: 'BEGIN:VCALENDAR', contentType: 'text/calendar' }],
  })
  transport.close()
})
afterAll(async () => {
  await mailbox.stop()
  rmSync(dir, { recursive: true, force: true })
})

describe('the mailbox', () => {
  it('tells scripts what came', async () => {
    const [mail] = (await (await ask('/messages')).json()) as Record<string, unknown>[]
    expect(mail).toMatchObject({
      id: 1,
      to: '"Ada" <ada@care.example>',
      envelopeTo: ['ada@care.example'],
      subject: 'Hall <b>North</b>',
      text: 'Three & more',
    })
    expect(mail?.attachments).toMatchObject([{ filename: 'care.ics', contentType: 'text/calendar', text: 'BEGIN:VCALENDAR' }])
  })

  it('shows people what came, with nothing of a mail running in the page', async () => {
    const list = await (await ask('/')).text()
    expect(list).toContain('1 mail, newest first.')
    expect(list).toContain('Hall &lt;b&gt;North&lt;/b&gt;')
    const page = await (await ask('/mails/1')).text()
    expect(page).toContain('<iframe sandbox title="The mail" src="/mails/1/html">')
    expect(page).not.toContain('<script')
    const html = await ask('/mails/1/html')
    expect(html.headers.get('content-security-policy')).toContain("default-src 'none'")
    const part = await ask('/mails/1/parts/0')
    expect([part.headers.get('content-disposition'), await part.text()]).toEqual([
      "attachment; filename*=UTF-8''care.ics",
      'BEGIN:VCALENDAR',
    ])
  })

  it('says what is not there', async () => {
    for (const path of ['/mails/9', '/mails/1/parts/7', '/etc/passwd', '/mails/../x']) expect((await ask(path)).status).toBe(404)
    expect((await fetch(mailbox.pageUrl, { method: 'POST' })).status).toBe(405)
  })

  it('has its mails again after a new start', async () => {
    await mailbox.stop()
    mailbox = await startMailbox({ dir })
    expect(((await (await ask('/messages')).json()) as unknown[]).length).toBe(1)
  })

  it('gives mails that come at the same moment numbers of their own', async () => {
    const pooled = createTransport({ url: mailbox.smtpUrl, pool: true, maxConnections: 5 } as never)
    const subjects = Array.from({ length: 10 }, (_, index) => `at once ${index}`)
    await Promise.all(subjects.map((subject) => pooled.sendMail({ from: 'care@care.example', to: 'ada@care.example', subject, text: 'x' })))
    pooled.close()
    const list = (await (await ask('/messages')).json()) as { id: number; subject: string }[]
    const came = list.filter(({ subject }) => subject.startsWith('at once'))
    expect(new Set(came.map(({ id }) => id)).size).toBe(10)
    for (const { id, subject } of came) expect(await (await ask(`/mails/${id}/raw`)).text()).toContain(`Subject: ${subject}`)
  })
})
