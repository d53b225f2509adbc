/** An authenticator in software (W3C Web Authentication, ES256, no attestation), which can also be made to lie. */
import { createHash, generateKeyPairSync, randomBytes, sign } from 'node:crypto'

type Cbor = number | string | Buffer | Map<number | string, Cbor>

function head(major: number, value: number): Buffer {
  if (value < 24) return Buffer.from([(major << 5) | value])
  if (value < 256) return Buffer.from([(major << 5) | 24, value])
  return Buffer.from([(major << 5) | 25, value >> 8, value & 255])
}

/** RFC 8949, the few kinds that are needed here. */
function cbor(value: Cbor): Buffer {
  if (typeof value === 'number') return value >= 0 ? head(0, value) : head(1, -1 - value)
  if (typeof value === 'string') return Buffer.concat([head(3, Buffer.byteLength(value)), Buffer.from(value)])
  if (Buffer.isBuffer(value)) return Buffer.concat([head(2, value.length), value])
  return Buffer.concat([head(5, value.size), ...[...value].flatMap(([key, item]) => [cbor(key), cbor(item)])])
}

const sha256 = (data: string | Buffer): Buffer => createHash('sha256').update(data).digest()
const USER_PRESENT = 0x01
const USER_VERIFIED = 0x04
const HAS_KEY = 0x40

export interface Lies {
  origin?: string
  host?: string
  verified?: boolean
  counter?: number
  userHandle?: string
  challenge?: string
}

export class Authenticator {
  private readonly keys = generateKeyPairSync('ec', { namedCurve: 'P-256' })
  readonly id = randomBytes(32)
  private counter = 0
  private handle = ''

  constructor(private readonly origin: string) {}

  private clientData(type: string, challenge: string, lies: Lies): Buffer {
    return Buffer.from(
      JSON.stringify({ type, challenge: lies.challenge ?? challenge, origin: lies.origin ?? this.origin, crossOrigin: false }),
    )
  }

  private data(flags: number, lies: Lies, more: Buffer = Buffer.alloc(0)): Buffer {
    const counter = Buffer.alloc(4)
    counter.writeUInt32BE(lies.counter ?? this.counter)
    const verified = (lies.verified ?? true) ? USER_VERIFIED : 0
    return Buffer.concat([sha256(lies.host ?? new URL(this.origin).hostname), Buffer.from([flags | verified]), counter, more])
  }

  private named() {
    const id = this.id.toString('base64url')
    return { id, rawId: id, type: 'public-key' as const, clientExtensionResults: {} }
  }

  // oxlint-disable-next-line typescript/no-explicit-any
  create(options: any, lies: Lies = {}): object {
    this.handle = options.user.id
    const { x, y } = this.keys.publicKey.export({ format: 'jwk' }) as { x: string; y: string }
    const key = new Map<number, Cbor>([
      [1, 2],
      [3, -7],
      [-1, 1],
      [-2, Buffer.from(x, 'base64url')],
      [-3, Buffer.from(y, 'base64url')],
    ])
    const made = Buffer.concat([Buffer.alloc(16), Buffer.from([0, this.id.length]), this.id, cbor(key)])
    const authData = this.data(USER_PRESENT | HAS_KEY, lies, made)
    const attestation = cbor(
      new Map<string, Cbor>([
        ['fmt', 'none'],
        ['attStmt', new Map()],
        ['authData', authData],
      ]),
    )
    return {
      ...this.named(),
      response: {
        clientDataJSON: this.clientData('webauthn.create', options.challenge, lies).toString('base64url'),
        attestationObject: attestation.toString('base64url'),
        transports: ['internal'],
      },
    }
  }

  // oxlint-disable-next-line typescript/no-explicit-any
  get(options: any, lies: Lies = {}): object {
    this.counter += 1
    const client = this.clientData('webauthn.get', options.challenge, lies)
    const authData = this.data(USER_PRESENT, lies)
    return {
      ...this.named(),
      response: {
        clientDataJSON: client.toString('base64url'),
        authenticatorData: authData.toString('base64url'),
        signature: sign('sha256', Buffer.concat([authData, sha256(client)]), this.keys.privateKey).toString('base64url'),
        ...((lies.userHandle ?? this.handle) === '' ? {} : { userHandle: lies.userHandle ?? this.handle }),
      },
    }
  }
}
