/**
 * RFC 6376 read anew: checks the signature of a mail as it arrived, with nothing but node:crypto. Relaxed
 * canonicalisation of header and body, rsa-sha256, as our signer writes; anything else is refused.
 */
import { createHash, createVerify, type KeyObject } from 'node:crypto'

interface Field {
  name: string
  /** As it stands, folds and all, without the line end. */
  raw: string
}

function fieldsOf(head: string): Field[] {
  const unfoldedStarts = head.split(/\r\n(?![ \t])/)
  return unfoldedStarts.map((raw) => ({ name: raw.slice(0, raw.indexOf(':')).trim().toLowerCase(), raw }))
}

/** 3.4.2. */
function relaxedHeader({ name, raw }: Field): string {
  const value = raw
    .slice(raw.indexOf(':') + 1)
    .replace(/\r\n/g, '')
    .replace(/[ \t]+/g, ' ')
    .trim()
  return `${name}:${value}`
}

/** 3.4.4. */
function relaxedBody(body: string): string {
  const lines = body.split('\r\n').map((line) => line.replace(/[ \t]+/g, ' ').replace(/ $/, ''))
  while (lines.length > 0 && lines.at(-1) === '') lines.pop()
  return lines.map((line) => `${line}\r\n`).join('')
}

export interface DkimChecked {
  bodyHolds: boolean
  signatureHolds: boolean
  domain: string
  selector: string
  /** Names of the signed header fields, in small letters. */
  signed: string[]
}

/** @param raw the mail as the server received it, dots undone */
export function checkDkim(raw: string, key: KeyObject): DkimChecked {
  const end = raw.indexOf('\r\n\r\n')
  const fields = fieldsOf(raw.slice(0, end))
  const body = raw.slice(end + 4)
  const signature = fields.find(({ name }) => name === 'dkim-signature')
  if (!signature) throw new Error('There is no DKIM-Signature.')
  const tags = new Map(
    signature.raw
      .slice(signature.raw.indexOf(':') + 1)
      .split(';')
      .map(
        (tag) =>
          tag
            .split(/=(.*)/s)
            .slice(0, 2)
            .map((part) => part.replace(/[\s]+/g, '')) as [string, string],
      ),
  )
  if (tags.get('a') !== 'rsa-sha256' || tags.get('c') !== 'relaxed/relaxed' || tags.has('l'))
    throw new Error('It is signed in another way.')
  const signed = (tags.get('h') ?? '').toLowerCase().split(':')
  const left = [...fields]
  // 5.4.2: of fields with the same name the last one first.
  const chosen = signed.flatMap((name) => {
    const at = left.map((field) => field.name).lastIndexOf(name)
    return at < 0 ? [] : [relaxedHeader(left.splice(at, 1)[0]!)]
  })
  // Its own value comes last, without its signature and without a line end.
  const own = relaxedHeader({ ...signature, raw: signature.raw.replace(/(\bb=)[^;]*/, '$1') })
  const verifier = createVerify('RSA-SHA256')
  verifier.update([...chosen, own].join('\r\n'), 'latin1')
  return {
    bodyHolds: createHash('sha256').update(relaxedBody(body), 'latin1').digest('base64') === tags.get('bh'),
    signatureHolds: verifier.verify(key, tags.get('b') ?? '', 'base64'),
    domain: tags.get('d') ?? '',
    selector: tags.get('s') ?? '',
    signed,
  }
}
