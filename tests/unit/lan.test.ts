/** The https address for phones: its certificate is trusted by who trusts the authority, and by nobody else. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { X509Certificate } from 'node:crypto'
import { mkdtempSync, rmSync } from 'node:fs'
import { createServer, type Server } from 'node:http'
import { get } from 'node:https'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'

const tool = async (name: string): Promise<Record<string, (...given: unknown[]) => unknown>> =>
  (await import(pathToFileURL(join(process.cwd(), 'tools/start', name)).href)) as never
const DAY_MS = 86_400_000
const dataDir = mkdtempSync(join(tmpdir(), 'lan-'))
let inner: Server
let seen: Record<string, unknown> = {}
let tls: { port: number; stop: () => Promise<void> }

type Pair = { cert: string; key: string; authority: string }
const certificateFor = async (address: string, now?: Date): Promise<Pair> =>
  (await (await tool('certificate.mjs')).certificateFor?.(dataDir, address, now)) as Pair

const ask = (path: string, ca?: string): Promise<{ status: number; text: string }> =>
  new Promise((done, fail) => {
    get({ host: '127.0.0.1', port: tls.port, path, ca, agent: false }, (answer) => {
      let text = ''
      answer.on('data', (part) => (text += String(part)))
      answer.on('end', () => done({ status: answer.statusCode ?? 0, text }))
    }).on('error', fail)
  })

beforeAll(async () => {
  inner = createServer((request, answer) => {
    seen = request.headers
    answer.end(`inner ${request.url}`)
  })
  await new Promise<void>((done) => inner.listen(0, '127.0.0.1', done))
  const { port } = inner.address() as AddressInfo
  const lib = (await import(pathToFileURL(join(process.cwd(), 'tools/lib.mjs')).href)) as { freePort: (from: number) => Promise<number> }
  tls = (await (
    await tool('lan.mjs')
  ).startTls?.({ dataDir, address: '192.168.7.3', port, tlsPort: await lib.freePort(18_443) })) as typeof tls
})
afterAll(async () => {
  await tls.stop()
  await new Promise((done) => inner.close(done))
  rmSync(dataDir, { recursive: true, force: true })
})

describe('the https address in the network', () => {
  it('passes requests on to who trusts its authority, and says that they came by https', async () => {
    const { authority } = await certificateFor('192.168.7.3')
    expect(await ask('/hand.html?x=1', authority)).toEqual({ status: 200, text: 'inner /hand.html?x=1' })
    expect(seen).toMatchObject({ 'x-forwarded-proto': 'https', host: `127.0.0.1:${tls.port}` })
    await expect(ask('/')).rejects.toThrow(/self-signed|unable to verify/i)
  })

  it('gives the authority’s certificate, never its key', async () => {
    const { authority } = await certificateFor('192.168.7.3')
    const { text } = await ask('/local-authority.crt', authority)
    expect(new X509Certificate(text).ca).toBe(true)
    expect(text).not.toContain('PRIVATE')
  })

  it('keeps its authority, so that a phone trusts once; a new address or an old age gets a new certificate', async () => {
    const first = await certificateFor('192.168.7.3')
    const moved = await certificateFor('10.0.0.9')
    const old = await certificateFor('10.0.0.9', new Date(Date.now() + 85 * DAY_MS))
    expect(new Set([first.authority, moved.authority, old.authority]).size).toBe(1)
    expect(new Set([first.cert, moved.cert, old.cert]).size).toBe(3)
    const leaf = new X509Certificate(moved.cert)
    expect(leaf.checkIP('10.0.0.9')).toBe('10.0.0.9')
    expect(leaf.checkIssued(new X509Certificate(first.authority))).toBe(true)
    expect(leaf.verify(new X509Certificate(first.authority).publicKey)).toBe(true)
    expect((Date.parse(leaf.validTo) - Date.parse(leaf.validFrom)) / DAY_MS).toBeLessThanOrEqual(398)
    expect(await certificateFor('10.0.0.9', new Date(Date.now() + 85 * DAY_MS))).toEqual(old)
  })

  it('is an address of a private network before any other, and none of this machine alone', async () => {
    const { lanAddress } = await tool('lan.mjs')
    const one = (address: string, internal = false) => [{ family: 'IPv4', internal, address }]
    expect(lanAddress?.({ lo: one('127.0.0.1', true), wan: one('203.0.113.5'), lan: one('192.168.7.3') })).toBe('192.168.7.3')
    expect(lanAddress?.({ lo: one('127.0.0.1', true), odd: one('169.254.3.3') })).toBeNull()
  })
})
