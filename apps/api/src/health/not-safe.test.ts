import { describe, expect, it } from '@jest/globals'
import { type Installation, notSafeOf } from './not-safe.js'

const safe: Installation = {
  production: true,
  publicUrl: 'https://tapewarden.example',
  queueUrl: 'rediss://:a-long-secret@queue.example:6380',
  smtpUrl: 'smtps://mail.example',
  signsMail: true,
  clockShifted: false,
}
const guarded = { roleMayBypass: false, crossesNetworkPlain: false }
const said = (more: Partial<Installation>, database = guarded): string[] =>
  notSafeOf({ ...safe, ...more }, database).map(({ what }) => what)

describe('what is not safe about an installation', () => {
  it('says nothing of one that is set up well', () => {
    expect(said({})).toEqual([])
    expect(said({ queueUrl: 'postgres://a@db.example/x' })).toEqual([])
    expect(said({ queueUrl: 'redis://127.0.0.1:6379', smtpUrl: 'smtp://localhost:25' })).toEqual([])
  })

  it('tells a computer of its own from a network', () => {
    expect(said({ publicUrl: 'http://127.0.0.1:8321' })).toEqual(['The pages are served without TLS, for this computer only.'])
    expect(said({ publicUrl: 'http://10.0.0.4:8321' })[0]).toContain('can be read on their way')
  })

  it.each([
    ['trial', { production: false }, 'This is a trial'],
    ['clock', { clockShifted: true }, 'The clock is shifted.'],
    ['queue without password', { queueUrl: 'rediss://queue.example' }, 'asks for no password'],
    ['queue without TLS', { queueUrl: 'redis://:a-long-secret@queue.example' }, 'The queue is reached without TLS.'],
    ['mail without TLS', { smtpUrl: 'smtp://mail.example' }, 'only where the mail server offers it'],
    ['unsigned mail', { signsMail: false }, 'not signed'],
  ])('names one thing for: %s', (_, more, words) => {
    const found = said(more)
    expect(found).toHaveLength(1)
    expect(found[0]).toContain(words)
  })

  it('names a role that may go round the guard, and a plain connection to the database', () => {
    expect(said({}, { roleMayBypass: true, crossesNetworkPlain: true })).toEqual([
      'The application’s database role may go round the guard between organisations.',
      'The database is reached over a network without TLS.',
    ])
  })

  it('never says a secret', () => {
    expect(
      JSON.stringify(notSafeOf({ ...safe, queueUrl: 'redis://:hidden-words@queue.example', production: false }, guarded)),
    ).not.toContain('hidden')
  })
})
