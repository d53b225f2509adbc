/** P12 of speed.md: a message claimed, rendered, handed over in a commit of its own, sent and marked, against bare pooled nodemailer. */
import type { Database } from '@tapewarden/persistence'
import { createTransport } from 'nodemailer'
import { type BenchResult, summarise } from './result.js'
import { atOnce, type BenchOrganisation, elapsedMs, imported, partsFor, type SendParts, startSink } from './support-mail.js'
import { startBenchServer } from './support-server.js'

const [MAILS, REPETITIONS, CONNECTIONS] = [300, 5, 5]
/** Jobs that the worker takes at once: SEND_CONCURRENCY times SENDING_AHEAD. */
const AT_ONCE = 48

interface Support {
  insertMailOrganisation(database: Database, word: string, asked: { machines: number; readers: number }): Promise<BenchOrganisation>
  MAIL_NOW: Date
}
interface Composing {
  compose(parts: SendParts, organisationId: string, warehouseId: string): Promise<{ messageIds: string[] }>
}
interface Sending {
  send(parts: SendParts, organisationId: string, messageId: string): Promise<string>
}

function letter(text: string) {
  return {
    from: 'care@care.example',
    to: 'ada@care.example',
    subject: 'Hall North',
    text,
    html: `<p>${text}</p>`,
    attachments: [{ filename: 'care.ics', content: text, contentType: 'text/calendar' }],
  }
}

async function bare(smtpUrl: string): Promise<number> {
  const transport = createTransport({ url: smtpUrl, pool: true, maxConnections: CONNECTIONS, maxMessages: Infinity } as never)
  const body = 'Replace both motor brushes. Likely due on 12 May, between 3 May and 26 May. '.repeat(25)
  const ms = await elapsedMs(() => Promise.all(Array.from({ length: MAILS }, () => transport.sendMail(letter(body)))))
  transport.close()
  return ms
}

export async function run(): Promise<BenchResult[]> {
  const sink = await startSink()
  const server = await startBenchServer()
  try {
    const { insertMailOrganisation, MAIL_NOW } = await imported<Support>('tests/faults/dist/support/mail-organisation.js')
    const { compose } = await imported<Composing>('apps/worker/dist/composing/compose-messages.js')
    const { send } = await imported<Sending>('apps/worker/dist/sending/send-message.js')
    const parts = partsFor(server.database, sink.url, MAIL_NOW, CONNECTIONS)
    const ratios: number[] = []
    const [bares, wholes]: [number[], number[]] = [[], []]
    for (let round = 0; round <= REPETITIONS; round++) {
      const ours = await insertMailOrganisation(server.database, `b${round}`, { machines: 10, readers: MAILS })
      const { messageIds } = await compose(parts, ours.organisationId, ours.warehouseId)
      // What autovacuum does within a minute; these tables were filled a moment ago.
      await server.owner.query('ANALYZE')
      const floor = await bare(sink.url)
      const whole = await elapsedMs(() => atOnce(messageIds, AT_ONCE, (id) => send(parts, ours.organisationId, id)))
      if (messageIds.length !== MAILS) throw new Error(`${messageIds.length} messages, not ${MAILS}`)
      if (round === 0) continue
      ratios.push(whole / floor)
      bares.push(floor)
      wholes.push(whole)
    }
    const rate = (list: number[]) => `${Math.round(MAILS / ((list.sort((a, b) => a - b)[2] ?? 1) / 1000))}/s`
    parts.mailer.close()
    return [
      summarise(
        'P12 mail, claimed to marked, against bare pooled nodemailer',
        ratios,
        1.25,
        `${rate(wholes)} against ${rate(bares)}; ${MAILS} mails of about 8 kB, ${CONNECTIONS} connections, ${AT_ONCE} at once, two durable commits a lot; goal 1.25 is 80 %`,
      ),
    ]
  } finally {
    await server.stop()
    sink.stop()
  }
}
