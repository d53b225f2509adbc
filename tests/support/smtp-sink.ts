/** A mail server that a test holds by the hand, phase by phase, with a ledger of what it took: the judge outside the system. */
import { createServer, type Server, type Socket } from 'node:net'

export const SMTP_PHASES = ['greeting', 'ehlo', 'mail', 'rcpt', 'data', 'body', 'dot', 'rset', 'quit'] as const
export type SmtpPhase = (typeof SMTP_PHASES)[number]
export const SMTP_FAULTS = ['4xx', '5xx', 'timeout', 'reset', 'slow'] as const
export type SmtpFault = (typeof SMTP_FAULTS)[number] | 'accept_then_reset' | 'accept_then_silence'

export interface TakenMail {
  messageId: string
  to: string
  raw: string
  /** Whether the sender was told that it was taken. */
  acknowledged: boolean
  at: number
}

export interface SmtpSink {
  url: string
  port: number
  taken: TakenMail[]
  /** Asked at every phase; null: go on. */
  fault: (phase: SmtpPhase, to: string) => SmtpFault | null
  /** How often a phase was reached. */
  reached: Record<SmtpPhase, number>
  /** Ends every open connection, as an idle server does. */
  dropConnections(): void
  stop(): Promise<void>
}

const REPLIES: Readonly<Record<SmtpPhase, string>> = {
  greeting: '220 sink ready',
  ehlo: '250-sink\r\n250 8BITMIME',
  mail: '250 sender ok',
  rcpt: '250 recipient ok',
  data: '354 go on',
  body: '',
  dot: '250 taken',
  rset: '250 reset',
  quit: '221 bye',
}

const SLOW_MS = 300

class Session {
  private buffer = ''
  private inData = false
  private bodyBegun = false
  /** Answered before the final dot: the rest of the body is read and forgotten. */
  private refusedEarly = false
  private to = ''
  private chain: Promise<void> = Promise.resolve()

  constructor(
    private readonly socket: Socket,
    private readonly sink: SmtpSink,
  ) {
    socket.setEncoding('latin1')
    socket.on('error', () => undefined)
    socket.on('data', (text: string) => {
      this.buffer += text
      this.chain = this.chain.then(() => this.read())
    })
    this.chain = this.reply('greeting')
  }

  private async read(): Promise<void> {
    while (!this.socket.destroyed) {
      if (this.inData) {
        if (this.buffer.length > 0 && !this.bodyBegun) await this.beginBody()
        if (this.socket.destroyed) return
        const end = this.buffer.indexOf('\r\n.\r\n')
        if (end < 0) return
        const raw = this.buffer.slice(0, end)
        this.buffer = this.buffer.slice(end + 5)
        this.inData = false
        this.bodyBegun = false
        if (this.refusedEarly) this.refusedEarly = false
        else await this.take(raw)
        continue
      }
      const end = this.buffer.indexOf('\r\n')
      if (end < 0) return
      const line = this.buffer.slice(0, end)
      this.buffer = this.buffer.slice(end + 2)
      await this.command(line)
    }
  }

  private async beginBody(): Promise<void> {
    this.bodyBegun = true
    const fault = this.sink.fault('body', this.to)
    if (fault === 'reset') return this.drop('body')
    this.sink.reached.body += 1
    if (fault === 'slow') await new Promise((later) => setTimeout(later, SLOW_MS))
    if (fault === 'timeout') await new Promise(() => undefined)
    if (fault === '4xx' || fault === '5xx') {
      this.refusedEarly = true
      this.socket.write(fault === '4xx' ? '451 not now\r\n' : '550 never\r\n')
    }
  }

  private drop(phase: SmtpPhase): void {
    this.sink.reached[phase] += 1
    this.socket.resetAndDestroy()
  }

  private async command(line: string): Promise<void> {
    const verb = line.slice(0, 4).toUpperCase()
    if (verb === 'EHLO' || verb === 'HELO') return this.reply('ehlo')
    if (verb === 'MAIL') {
      this.to = ''
      return this.reply('mail')
    }
    if (verb === 'RCPT') {
      this.to = /<([^>]*)>/.exec(line)?.[1] ?? ''
      return this.reply('rcpt')
    }
    if (verb === 'DATA') {
      await this.reply('data')
      return
    }
    if (verb === 'RSET') return this.reply('rset')
    if (verb === 'QUIT') {
      await this.reply('quit')
      this.socket.end()
      return
    }
    this.socket.write('502 what\r\n')
  }

  private async take(raw: string): Promise<void> {
    const fault = this.sink.fault('dot', this.to)
    const refused = fault === '4xx' || fault === '5xx' || fault === 'reset' || fault === 'timeout'
    if (refused) return this.reply('dot', fault)
    const messageId = /^message-id:\s*(<[^>]+>)/im.exec(raw)?.[1] ?? ''
    const mail: TakenMail = { messageId, to: this.to, raw, acknowledged: false, at: Date.now() }
    this.sink.taken.push(mail)
    if (fault === 'accept_then_reset') return this.drop('dot')
    if (fault === 'accept_then_silence') return void (this.sink.reached.dot += 1)
    await this.reply('dot', fault)
    mail.acknowledged = true
  }

  private async reply(phase: SmtpPhase, asked = this.sink.fault(phase, this.to)): Promise<void> {
    this.sink.reached[phase] += 1
    if (asked === 'reset') return void this.socket.resetAndDestroy()
    if (asked === 'timeout') return
    if (asked === 'slow') await new Promise((later) => setTimeout(later, SLOW_MS))
    if (asked === '4xx' || asked === '5xx') {
      this.socket.write(asked === '4xx' ? '451 not now\r\n' : '550 never\r\n')
      if (phase === 'greeting') this.socket.end()
      return
    }
    if (phase === 'data') this.inData = true
    this.socket.write(`${REPLIES[phase]}\r\n`)
  }
}

export async function startSmtpSink(port = 0): Promise<SmtpSink> {
  const sockets = new Set<Socket>()
  const server: Server = createServer((socket) => {
    sockets.add(socket)
    socket.on('close', () => sockets.delete(socket))
    new Session(socket, sink)
  })
  await new Promise<void>((done, fail) => server.once('error', fail).listen(port, '127.0.0.1', done))
  const taken = (server.address() as { port: number }).port
  const sink: SmtpSink = {
    url: `smtp://127.0.0.1:${taken}`,
    port: taken,
    taken: [],
    fault: () => null,
    reached: Object.fromEntries(SMTP_PHASES.map((phase) => [phase, 0])) as Record<SmtpPhase, number>,
    dropConnections: () => {
      for (const socket of sockets) socket.end()
    },
    stop: () =>
      new Promise((done) => {
        for (const socket of sockets) socket.destroy()
        server.close(() => done())
      }),
  }
  return sink
}
