// Certificates for a trial in one's own network: an authority that is made once and kept, and a short-lived certificate of it
// for the address of today. A phone that trusts the authority opens the pages like any other, camera and offline pages included.
import { X509Certificate } from 'node:crypto'
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'

const DAY_MS = 86_400_000
const AUTHORITY_DAYS = 3650
/** Phones refuse longer ones; a new one is made before it ends. */
const CERTIFICATE_DAYS = 90
const RENEWED_BEFORE_DAYS = 10

async function makeAuthority(now) {
  const { generate } = await import('selfsigned')
  const made = await generate([{ name: 'commonName', value: `Tapewarden trial, made ${now.toISOString().slice(0, 10)}` }], {
    keyType: 'ec',
    curve: 'P-256',
    algorithm: 'sha256',
    notBeforeDate: new Date(now.getTime() - DAY_MS),
    notAfterDate: new Date(now.getTime() + AUTHORITY_DAYS * DAY_MS),
    extensions: [
      { name: 'basicConstraints', cA: true, pathLenConstraint: 0, critical: true },
      { name: 'keyUsage', keyCertSign: true, cRLSign: true, critical: true },
    ],
  })
  return { cert: made.cert, key: made.private }
}

async function makeFor(address, authority, now) {
  const { generate } = await import('selfsigned')
  const made = await generate([{ name: 'commonName', value: address }], {
    keyType: 'ec',
    curve: 'P-256',
    algorithm: 'sha256',
    notBeforeDate: new Date(now.getTime() - DAY_MS),
    notAfterDate: new Date(now.getTime() + CERTIFICATE_DAYS * DAY_MS),
    ca: authority,
    extensions: [
      { name: 'basicConstraints', cA: false, critical: true },
      { name: 'keyUsage', digitalSignature: true, critical: true },
      { name: 'extKeyUsage', serverAuth: true },
      {
        name: 'subjectAltName',
        altNames: [
          { type: 7, ip: address },
          { type: 7, ip: '127.0.0.1' },
          { type: 2, value: 'localhost' },
        ],
      },
    ],
  })
  return { cert: made.cert, key: made.private }
}

function readKept(path) {
  try {
    return existsSync(path) ? JSON.parse(readFileSync(path, 'utf8')) : null
  } catch {
    return null
  }
}

function isGood(pair, address, now) {
  const read = new X509Certificate(pair.cert)
  return read.checkIP(address) !== undefined && new Date(read.validTo).getTime() - now.getTime() > RENEWED_BEFORE_DAYS * DAY_MS
}

/**
 * @param address IPv4 address of this machine in its network
 * @returns {Promise<{cert: string, key: string, authority: string}>} in PEM; cert is followed by its authority
 */
export async function certificateFor(dataDir, address, now = new Date()) {
  const path = join(dataDir, 'certificate.json')
  const kept = readKept(path)
  const authority = kept?.authority ?? (await makeAuthority(now))
  const own = kept?.own && isGood(kept.own, address, now) ? kept.own : await makeFor(address, authority, now)
  mkdirSync(dataDir, { recursive: true })
  writeFileSync(path, JSON.stringify({ authority, own }), { mode: 0o600 })
  return { cert: `${own.cert.trim()}\n${authority.cert.trim()}\n`, key: own.key, authority: authority.cert }
}
