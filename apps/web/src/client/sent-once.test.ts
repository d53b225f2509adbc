import { afterEach, beforeEach, describe, expect, it, jest } from '@jest/globals'
import { ApiProblem, InWords, Unreachable } from './problems.js'
import { sendOnce } from './sent-once.js'

const lost = new Unreachable()
const refused = (status: number, code = 'NOT_SO'): ApiProblem => new ApiProblem(status, code, 'Not so.', [])

/** A server of which a test says what becomes of each sending in turn. */
function serverOf(...fates: (string | Error)[]) {
  const keys: string[] = []
  const send = async (key: string): Promise<string> => {
    keys.push(key)
    const fate = fates.shift() ?? 'done'
    if (fate instanceof Error) throw fate
    return fate
  }
  return { keys, press: (body: string, what = 'POST /parts') => sendOnce({ what, body }, send) }
}
/** Not the second press of one hand. */
const later = () => jest.advanceTimersByTime(1000)

beforeEach(() => {
  jest.useFakeTimers()
})
afterEach(() => {
  jest.advanceTimersByTime(24 * 3_600_000)
  jest.useRealTimers()
})

describe('a change', () => {
  it('pressed twice goes out once, under way as well as just answered', async () => {
    const { keys, press } = serverOf('one', 'two')
    expect(await Promise.all([press('a'), press('a')])).toEqual(['one', 'one'])
    expect(await press('a')).toBe('one')
    later()
    expect(await press('a')).toBe('two')
    expect(new Set(keys).size).toBe(2)
  })

  it('goes out at each press where each is a step', async () => {
    const sent: string[] = []
    const walk = () => sendOnce({ what: 'POST /walk', body: 'earlier', eachPress: true }, async (key) => sent.push(key))
    await Promise.all([walk(), walk()])
    expect(new Set(sent).size).toBe(2)
  })

  it('of other words or another address is another one', async () => {
    const { keys, press } = serverOf()
    await Promise.all([press('a'), press('b'), press('a', 'POST /visits')])
    expect(new Set(keys).size).toBe(3)
  })

  it.each([
    ['the network', lost],
    ['a server that failed', refused(500)],
    ['a server that is busy', refused(429)],
    ['a sign-in that ended', refused(401)],
  ])('left without an answer by %s is sent again as the same, and after an answer is a new one', async (_by, fault) => {
    const { keys, press } = serverOf(lost, fault, 'done')
    await expect(press('a')).rejects.toBe(lost)
    await expect(press('a')).rejects.toBe(fault)
    expect(await press('a')).toBe('done')
    later()
    await press('a')
    expect(keys.slice(0, 3)).toEqual([keys[0], keys[0], keys[0]])
    expect(keys[3]).not.toBe(keys[0])
  })

  it('that was refused is a new one when it is sent again', async () => {
    const { keys, press } = serverOf(refused(422))
    await expect(press('a')).rejects.toThrow('Not so.')
    await press('a')
    expect(keys[1]).not.toBe(keys[0])
  })

  it('sent with other words after a lost answer says that the first had arrived, and then goes', async () => {
    const { keys, press } = serverOf(lost, refused(422, 'KEY_OF_ANOTHER_REQUEST'), 'done')
    await expect(press('ten machines')).rejects.toBe(lost)
    const told = press('twelve machines')
    await expect(told).rejects.toBeInstanceOf(InWords)
    await expect(told).rejects.toThrow('What you sent before had arrived; only its answer was lost.')
    expect(await press('twelve machines')).toBe('done')
    expect(keys[1]).toBe(keys[0])
    expect(keys[2]).not.toBe(keys[0])
  })

  it('that the server still works on is waited for under its key', async () => {
    const { keys, press } = serverOf(lost, refused(409, 'REQUEST_IN_FLIGHT'), 'done')
    await expect(press('a')).rejects.toBe(lost)
    await expect(press('a')).rejects.toThrow('The server is still working on what you sent before.')
    expect(await press('a')).toBe('done')
    expect(new Set(keys).size).toBe(1)
  })

  it('whose answer is shown once and was lost says so, and then makes a new one', async () => {
    const { keys, press } = serverOf(lost, refused(409, 'ANSWER_SHOWN_ONCE'), 'done')
    await expect(press('a')).rejects.toBe(lost)
    await expect(press('a')).rejects.toThrow('what it shows only once was lost on the way')
    expect(await press('a')).toBe('done')
    expect(keys[2]).not.toBe(keys[0])
  })

  it('left without an answer yesterday is a new one today', async () => {
    const { keys, press } = serverOf(lost)
    await expect(press('a')).rejects.toBe(lost)
    jest.advanceTimersByTime(13 * 3_600_000)
    await press('a')
    expect(keys[1]).not.toBe(keys[0])
  })
})
