import { SMTPServer } from 'smtp-server'

const LARGEST_BYTES = 20 * 1024 * 1024

/** @param onMail ({raw, from, to}) => Promise; its failure refuses the mail, so that the sender tries again */
export async function startSmtp({ port, host, onMail }) {
  const server = new SMTPServer({
    authOptional: true,
    disabledCommands: ['STARTTLS'],
    size: LARGEST_BYTES,
    disableReverseLookup: true,
    closeTimeout: 500,
    onAuth: (_auth, _session, callback) => callback(null, { user: 'anyone' }),
    onData(stream, session, callback) {
      const parts = []
      stream.on('data', (part) => parts.push(part))
      stream.on('end', () => {
        if (stream.sizeExceeded) return callback(Object.assign(new Error('Too large'), { responseCode: 552 }))
        const envelope = {
          from: session.envelope.mailFrom ? session.envelope.mailFrom.address : '',
          to: session.envelope.rcptTo.map(({ address }) => address),
        }
        onMail({ raw: Buffer.concat(parts), ...envelope }).then(
          () => callback(null, 'Kept'),
          (error) => callback(Object.assign(new Error(error.message), { responseCode: 451 })),
        )
      })
    },
  })
  server.on('error', () => {})
  await new Promise((done, fail) => {
    server.server.once('error', fail)
    server.listen(port, host, done)
  })
  return { port: server.server.address().port, stop: () => new Promise((done) => server.close(() => done())) }
}
