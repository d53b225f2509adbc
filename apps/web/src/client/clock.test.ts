import { beforeEach, describe, expect, it } from '@jest/globals'
import { clockAheadMs, learnClock, notAhead, sayClock, serverMs } from './clock.js'

const HTTP_DATE = 'Wed, 04 Mar 2026 08:00:00 GMT'
const THERE = Date.parse(HTTP_DATE) + 500
const HOUR = 3_600_000
const MINUTE = 60_000

describe('the clock of the phone', () => {
  // Right again: what one test learnt is no matter of the next.
  beforeEach(() => learnClock(new Date().toUTCString(), Date.now(), Date.now()))

  it.each([
    ['two days ahead', 48 * HOUR, 48 * HOUR],
    ['three hours behind', -3 * HOUR, -3 * HOUR],
    ['right to some seconds: as it is', 20_000, 0],
    ['half a minute more than what was left alone', 50_000, 0],
  ])('%s', (_what, off, ahead) => {
    learnClock(HTTP_DATE, THERE + off - 100, THERE + off + 100)
    expect(clockAheadMs()).toBe(ahead)
    expect(Math.abs(Date.now() - ahead - serverMs())).toBeLessThan(1000)
  })

  it('does not waver with every answer, and follows when it is put right', () => {
    const learn = (off: number): number => (learnClock(HTTP_DATE, THERE + off, THERE + off), clockAheadMs())
    expect([learn(48 * HOUR), learn(48 * HOUR + 20_000), learn(48 * HOUR + 2 * MINUTE), learn(5000)]).toEqual([
      48 * HOUR,
      48 * HOUR,
      48 * HOUR + 2 * MINUTE,
      0,
    ])
  })

  it.each([
    ['no date', null, 0, 200],
    ['no date that can be read', 'yesterday', 0, 200],
    ['an answer that took half a minute', HTTP_DATE, 0, 30_000],
    ['a clock that was put back meanwhile', HTTP_DATE, 0, -HOUR],
  ])('learns nothing from %s', (_what, said, asked, answered) => {
    learnClock(said, THERE + 48 * HOUR + asked, THERE + 48 * HOUR + answered)
    expect(clockAheadMs()).toBe(0)
  })

  it('puts what was typed before it was right not later than now, and leaves the rest', () => {
    const now = Date.parse('2026-03-04T08:00:00Z')
    const body = { kind: 'start', madeAt: '2026-03-06T08:00:00.000Z', at: '2026-03-04T07:59:00.000Z', text: '2026-03-06T08:00:00.000Z' }
    expect(notAhead(body, now)).toEqual({ ...body, madeAt: '2026-03-04T08:00:00.000Z' })
    const right = { madeAt: '2026-03-04T08:00:30.000Z' }
    expect(notAhead(right, now)).toBe(right)
  })

  it.each([
    [0, null],
    [4 * MINUTE, null],
    [6 * MINUTE, '6 minutes ahead'],
    [-3 * HOUR, '3 hours behind'],
    [49 * HOUR, '2 days ahead'],
  ])('%i ms is said as %s', (ahead, words) => {
    if (words === null) expect(sayClock(ahead)).toBeNull()
    else expect(sayClock(ahead)).toContain(words)
  })
})
