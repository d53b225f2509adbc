/** Stands between a process of ours and PostgreSQL and cuts the connection at COMMIT, before it arrives or before its answer does. */
import { createServer, connect, type Socket } from 'node:net'

export interface CommitCutter {
  /** The database's address by way of the cutter. */
  url: string
  /** How many COMMITs were cut so far: before PostgreSQL had it, and after. */
  cut: { before: number; after: number }
  /** While true, every third COMMIT is cut, by turns before and after. */
  cutting: boolean
  stop(): Promise<void>
}

/** A simple query of the protocol: 'Q', its length, the text, a zero. The driver sends COMMIT as one of these, alone. */
const COMMIT = Buffer.from('COMMIT\0')
const EVERY = 3

export async function startCommitCutter(databaseUrl: string): Promise<CommitCutter> {
  const behind = new URL(databaseUrl)
  const sockets = new Set<Socket>()
  let seen = 0
  const server = createServer((client) => {
    const database = connect(Number(behind.port || 5432), behind.hostname)
    for (const socket of [client, database]) {
      sockets.add(socket)
      socket.on('error', () => undefined)
      socket.on('close', () => sockets.delete(socket))
    }
    database.on('close', () => client.destroy())
    let deaf = false
    // The cut comes when PostgreSQL has answered, so that the commit has certainly happened.
    database.on('data', (piece: Buffer) => (deaf ? (client.resetAndDestroy(), database.destroy()) : client.write(piece)))
    client.on('close', () => database.destroy())
    client.on('data', (piece: Buffer) => {
      const commit = piece[0] === 0x51 && piece.includes(COMMIT)
      if (!commit || !cutter.cutting || ++seen % EVERY !== 0) return void database.write(piece)
      if ((seen / EVERY) % 2 === 0) {
        cutter.cut.before += 1
        client.resetAndDestroy()
        database.destroy()
        return
      }
      cutter.cut.after += 1
      deaf = true
      database.write(piece)
    })
  })
  await new Promise<void>((done, fail) => server.once('error', fail).listen(0, '127.0.0.1', done))
  const url = new URL(databaseUrl)
  url.hostname = '127.0.0.1'
  url.port = String((server.address() as { port: number }).port)
  const cutter: CommitCutter = {
    url: url.href,
    cut: { before: 0, after: 0 },
    cutting: false,
    stop: () =>
      new Promise((done) => {
        for (const socket of sockets) socket.destroy()
        server.close(() => done())
      }),
  }
  return cutter
}
