import { describe, expect, it } from '@jest/globals'
import { newId } from './ids.js'
import { readUnsubscribeLink, signUnsubscribeLink, unsubscribeLinkUrl } from './unsubscribe-link.js'

const KEY = 'k'.repeat(40)
const link = { organisationId: newId(), personId: newId() }
const token = signUnsubscribeLink(KEY, link)

describe('the unsubscribe link', () => {
  it('gives back whose it is', () => {
    expect(readUnsubscribeLink(KEY, token)).toEqual(link)
  })

  it('refuses another key, every changed byte and cut text', () => {
    expect(readUnsubscribeLink('x'.repeat(40), token)).toBeNull()
    const bytes = Buffer.from(token, 'base64url')
    for (let at = 0; at < bytes.length; at++) {
      const forged = Buffer.from(bytes)
      forged[at] = (forged[at] ?? 0) ^ 1
      expect(readUnsubscribeLink(KEY, forged.toString('base64url'))).toBeNull()
    }
    for (const odd of ['', token.slice(1), `${token}A`, 'ü']) expect(readUnsubscribeLink(KEY, odd)).toBeNull()
  })

  it('keeps its header line short', () => {
    expect(`List-Unsubscribe: <${unsubscribeLinkUrl('https://care.example.org', token)}>`.length).toBeLessThan(140)
  })
})
