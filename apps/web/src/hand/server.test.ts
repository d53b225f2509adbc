import 'fake-indexeddb/auto'
import { afterAll, describe, expect, it } from '@jest/globals'
import { ask } from './server.js'

const real = globalThis.fetch
afterAll(() => {
  globalThis.fetch = real
})
const refusedWith = (problem: object): Promise<string> => {
  globalThis.fetch = (async () => new Response(JSON.stringify(problem), { status: 422 })) as typeof fetch
  return ask('POST', '/api/v1/stoppages', {}).then(String, ({ message }: Error) => message)
}

describe('what the server refused', () => {
  it('is said once, with what else is wrong', async () => {
    const message = 'This lies before it was reported.'
    expect(await refusedWith({ detail: message, errors: [{ pointer: '/backInUseAt', message }] })).toBe(message)
    const errors = [{ pointer: '/cause', message: 'is no cause' }]
    expect(await refusedWith({ detail: 'Not possible.', errors })).toBe('Not possible. (/cause is no cause)')
    expect(await refusedWith({})).toBe('The server answered 422.')
  })
})
