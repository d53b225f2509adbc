import { createHash } from 'node:crypto'

/** What a mail server reports of one recipient (RFC 3464). */
export interface BounceReport {
  address: string
  /** hard: this address takes no mail, now or later; soft: not now, or not this mail. */
  kind: 'hard' | 'soft'
  /** RFC 3463, such as '5.1.1'; empty where none is given. */
  statusCode: string
  diagnostic: string
}

export interface ParsedBounce {
  /** The same for the same notification, however often it is handed in. */
  sourceKey: string
  /** Ids of our messages that it speaks of, by their Message-ID. */
  messageIds: string[]
  reports: BounceReport[]
}

const OUR_MESSAGE_ID = /<message-([0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12})@/gi

/** Groups of fields, parted by empty lines; a line that begins with a space goes on with the field before it. */
function groupsOf(text: string): Map<string, string>[] {
  return text
    .replace(/\r\n?/g, '\n')
    .replace(/\n[ \t]+/g, ' ')
    .split(/\n{2,}/)
    .map((group) => {
      const fields = new Map<string, string>()
      for (const line of group.split('\n')) {
        const colon = line.indexOf(':')
        if (colon > 0) fields.set(line.slice(0, colon).trim().toLowerCase(), line.slice(colon + 1).trim())
      }
      return fields
    })
    .filter((fields) => fields.size > 0)
}

/** 'rfc822; tom@example.org' → 'tom@example.org'. */
function addressIn(field: string | undefined): string | null {
  const text =
    field
      ?.slice(field.indexOf(';') + 1)
      .trim()
      .replace(/^<|>$/g, '') ?? ''
  return text.includes('@') ? text : null
}

/**
 * RFC 3463: a permanent status is about the address, but for a full mailbox, a mail too large, its form and a policy of
 * the receiver (5.2.2, 5.2.3, 5.3.4, 5.6, 5.7), which may well take the next mail.
 */
function kindOf(statusCode: string): 'hard' | 'soft' {
  return statusCode.startsWith('5.') && !/^5\.(2\.[23]|3\.4|6\.|7\.)/.test(statusCode) ? 'hard' : 'soft'
}

function reportOf(fields: ReadonlyMap<string, string>): BounceReport | null {
  // 'delayed', 'relayed', 'delivered' and 'expanded' are no failures.
  if (fields.get('action')?.toLowerCase() !== 'failed') return null
  const address = addressIn(fields.get('original-recipient')) ?? addressIn(fields.get('final-recipient'))
  if (address === null) return null
  const statusCode = /^\d\.\d{1,3}\.\d{1,3}/.exec(fields.get('status') ?? '')?.[0] ?? ''
  const diagnostic = (fields.get('diagnostic-code') ?? '').replace(/\p{Cc}+/gu, ' ').slice(0, 500)
  return { address, kind: kindOf(statusCode), statusCode, diagnostic }
}

/** @returns no reports for what is no notification of failure, such as an answer from someone's holidays */
export async function parseBounce(raw: Buffer): Promise<ParsedBounce> {
  const { simpleParser } = await import('mailparser')
  const mail = await simpleParser(raw, { keepDeliveryStatus: true })
  const status = mail.attachments.filter(({ contentType }) => /^message\/(global-)?delivery-status$/i.test(contentType))
  const everything = [raw.toString('latin1'), ...mail.attachments.map(({ content }) => content.toString('latin1')), mail.text ?? '']
  const messageIds = everything.flatMap((text) => [...text.matchAll(OUR_MESSAGE_ID)].map((found) => (found[1] as string).toLowerCase()))
  return {
    sourceKey: mail.messageId ?? `sha256:${createHash('sha256').update(raw).digest('hex')}`,
    messageIds: [...new Set(messageIds)],
    reports: status.flatMap(({ content }) => groupsOf(content.toString('utf8')).flatMap((fields) => reportOf(fields) ?? [])),
  }
}
