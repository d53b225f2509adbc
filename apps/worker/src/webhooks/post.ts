/** One attempt: to the address that was checked, without following anywhere, within a time, reading no more than the status. */
import { request as plainRequest } from 'node:http'
import { request as secureRequest } from 'node:https'
import type { LookupFunction } from 'node:net'
import { AddressRefusedError, checkAddress, type CheckedAddress, type Resolve } from './address.js'

export interface Answered {
  /** null: no answer. */
  status: number | null
  /** null: it arrived. */
  error: string | null
}

const PATIENCE_MS = 10_000

/** Whatever name is asked for, the address is the one that was checked: a name that changes in between changes nothing. */
function pinned({ address, family }: CheckedAddress): LookupFunction {
  return (_host, options, done) => {
    if (options.all) done(null, [{ address, family }])
    else done(null, address, family)
  }
}

function wordsOf(error: unknown): string {
  if (error instanceof AddressRefusedError) return error.message
  const { code = '', message } = error as { code?: string; message: string }
  if (code === 'ECONNREFUSED') return 'Nobody answers there.'
  if (code === 'ETIMEDOUT' || code === 'ECONNRESET' || code === 'EPIPE') return 'The connection broke off.'
  if (/CERT|SSL|TLS|self-signed|altnames/i.test(code + message)) return 'Its certificate is not good.'
  return 'It could not be reached.'
}

function send(checked: CheckedAddress, headers: Record<string, string>, body: string): Promise<number> {
  const { url } = checked
  const request = url.protocol === 'https:' ? secureRequest : plainRequest
  return new Promise((resolve, reject) => {
    const asking = request(url, {
      method: 'POST',
      agent: false,
      lookup: pinned(checked),
      headers: { ...headers, 'content-type': 'application/json', 'content-length': Buffer.byteLength(body), 'user-agent': 'Tapewarden' },
    })
    const late = setTimeout(() => asking.destroy(Object.assign(new Error('late'), { code: 'ETIMEDOUT' })), PATIENCE_MS)
    asking.once('close', () => clearTimeout(late))
    asking.once('error', reject)
    asking.once('response', (response) => {
      resolve(response.statusCode ?? 0)
      response.destroy()
    })
    asking.end(body)
  })
}

export async function postWebhook(
  text: string,
  headers: Record<string, string>,
  body: string,
  allowed: ReadonlySet<string>,
  resolve?: Resolve,
): Promise<Answered> {
  try {
    const status = await send(await checkAddress(text, allowed, resolve), headers, body)
    if (status >= 200 && status < 300) return { status, error: null }
    return { status, error: status >= 300 && status < 400 ? 'It sends elsewhere, which is not followed.' : `It answered ${status}.` }
  } catch (error) {
    return { status: null, error: wordsOf(error) }
  }
}
