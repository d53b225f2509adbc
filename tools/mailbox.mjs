// The local mailbox of `npm start`: takes mail by SMTP, keeps it in memory and in a folder, shows it on a page.
// For trying out only: it takes whatever comes, from this machine, and sends nothing on.
import { createServer } from 'node:http'
import { parseArgs } from 'node:util'
import { MailStore } from './mailbox/store.mjs'
import { answer } from './mailbox/pages.mjs'
import { startSmtp } from './mailbox/smtp.mjs'

function listen(server, port, host) {
  return new Promise((done, fail) => {
    server.once('error', fail)
    server.listen(port, host, () => done(server.address().port))
  })
}

/**
 * @param smtpPort, httpPort 0 asks the system for one
 * @param dir where mails are kept as .eml files; those already there are read again
 * @returns {Promise<{smtpUrl: string, pageUrl: string, store: MailStore, stop(): Promise<void>}>}
 */
export async function startMailbox({ smtpPort = 0, httpPort = 0, dir = null, host = '127.0.0.1' }) {
  const store = await MailStore.open(dir)
  const smtp = await startSmtp({ port: smtpPort, host, onMail: (mail) => store.add(mail) })
  const http = createServer((request, response) => void answer(store, request, response))
  let page
  try {
    page = await listen(http, httpPort, host)
  } catch (error) {
    await smtp.stop()
    throw error
  }
  const shown = host === '0.0.0.0' ? '127.0.0.1' : host
  return {
    smtpUrl: `smtp://${shown}:${smtp.port}`,
    pageUrl: `http://${shown}:${page}/`,
    store,
    async stop() {
      http.closeAllConnections()
      await Promise.all([smtp.stop(), new Promise((done) => http.close(done))])
    },
  }
}

if (process.argv[1] && import.meta.url === new URL(`file://${encodeURI(process.argv[1])}`).href) {
  const { values } = parseArgs({
    options: {
      'smtp-port': { type: 'string', default: '1025' },
      'http-port': { type: 'string', default: '8025' },
      host: { type: 'string', default: '127.0.0.1' },
      dir: { type: 'string' },
    },
  })
  const mailbox = await startMailbox({
    smtpPort: Number(values['smtp-port']),
    httpPort: Number(values['http-port']),
    host: values.host,
    dir: values.dir ?? null,
  })
  console.log(`Mail in at ${mailbox.smtpUrl}, to read at ${mailbox.pageUrl}`)
  for (const signal of ['SIGINT', 'SIGTERM']) process.on(signal, () => void mailbox.stop().then(() => process.exit(0)))
}
