// TLS in front of the pages, for phones in the same network: `npm start -- --lan`. A trial's means; production has its own proxy.
import { Agent, request } from 'node:http'
import { createServer } from 'node:https'
import { networkInterfaces } from 'node:os'
import { freePort } from '../lib.mjs'
import { certificateFor } from './certificate.mjs'

/** Where a phone loads the authority's certificate, to trust it once. */
export const AUTHORITY_PATH = '/local-authority.crt'
const HOP_BY_HOP = new Set(['connection', 'keep-alive', 'proxy-connection', 'te', 'trailer', 'transfer-encoding', 'upgrade'])
const PRIVATE = /^(10\.|192\.168\.|172\.(1[6-9]|2\d|3[01])\.)/

/** @returns the IPv4 address of this machine that a phone in the same network reaches; null: none */
export function lanAddress(interfaces = networkInterfaces()) {
  const found = Object.values(interfaces)
    .flat()
    .filter(({ family, internal, address }) => family === 'IPv4' && !internal && !address.startsWith('169.254.'))
    .map(({ address }) => address)
  return found.find((address) => PRIVATE.test(address)) ?? found[0] ?? null
}

const passed = (headers) => Object.fromEntries(Object.entries(headers).filter(([name]) => !HOP_BY_HOP.has(name)))

function pass(agent, port, incoming, outgoing) {
  const headers = { ...passed(incoming.headers), 'x-forwarded-for': incoming.socket.remoteAddress ?? '', 'x-forwarded-proto': 'https' }
  const inner = request({ agent, host: '127.0.0.1', port, method: incoming.method, path: incoming.url, headers }, (answer) => {
    outgoing.writeHead(answer.statusCode ?? 502, passed(answer.headers))
    answer.pipe(outgoing)
  })
  inner.on('error', () => {
    if (outgoing.headersSent) outgoing.destroy()
    else outgoing.writeHead(502, { 'content-type': 'text/plain' }).end('The api is away for a moment.')
  })
  outgoing.on('close', () => inner.destroy())
  incoming.pipe(inner)
}

/**
 * @param port of the pages on this machine
 * @returns {Promise<{port: number, stop: () => Promise<void>}>}
 */
export async function startTls({ dataDir, address, port, tlsPort }) {
  const { cert, key, authority } = await certificateFor(dataDir, address)
  const agent = new Agent({ keepAlive: true, maxSockets: 64 })
  const server = createServer({ cert, key, minVersion: 'TLSv1.2' }, (incoming, outgoing) => {
    if (incoming.url === AUTHORITY_PATH)
      outgoing.writeHead(200, { 'content-type': 'application/x-x509-ca-cert', 'cache-control': 'no-store' }).end(authority)
    else pass(agent, port, incoming, outgoing)
  })
  // A peer that does not trust the certificate breaks off; that is its own matter.
  server.on('tlsClientError', (_error, socket) => socket.destroy())
  await new Promise((done, fail) => server.once('error', fail).listen(tlsPort, '0.0.0.0', done))
  return {
    port: tlsPort,
    stop: () =>
      new Promise((done) => {
        agent.destroy()
        server.close(() => done())
        server.closeAllConnections()
      }),
  }
}

/** @throws Error, in words, where there is no network */
export async function findLan() {
  const address = lanAddress()
  if (!address)
    throw new Error('--lan needs a network: this machine has no address that a phone could reach. Join one, or start without --lan.')
  return { address, tlsPort: await freePort(8443) }
}

/** A code for the terminal, dark on light as phones want it. */
export async function terminalCode(text) {
  const { default: qrcode } = await import('qrcode')
  return qrcode.toString(text, { type: 'terminal', small: true, errorCorrectionLevel: 'M' })
}
