import { describe, expect, it } from '@jest/globals'
import { changesOf, sayChanges, waitsOf } from './stoppage-changes.js'
import { type One, sayMoment, withoutIt } from './stoppage-words.js'

const BASE: One = {
  id: 'x',
  machine: { id: 'm', labelCode: 'N-01', typeName: 'Bench' },
  warehouse: { id: 'w', name: 'North', zone: 'Europe/Berlin' },
  station: null,
  planned: false,
  failedAt: '2026-05-04T08:00:42.000Z',
  noticedAt: '2026-05-04T08:00:42.000Z',
  reportedAt: null,
  workBegunAt: null,
  repairedAt: null,
  checkedAt: null,
  backInUseAt: '2026-05-04T12:00:10.000Z',
  waits: [{ reason: 'part', fromAt: '2026-05-04T09:00:05.000Z', toAt: null }],
  failureMode: 'jammed',
  componentKey: null,
  cause: 'unknown',
  noticedHow: 'packer',
  reportedBy: 'Ada',
  workOrder: null,
  note: '',
  durations: {
    totalHours: 4,
    withinShiftsHours: null,
    detectionHours: 0,
    administrativeHours: 0,
    logisticHours: 3,
    technicalHours: 0,
    activeHours: 1,
  },
  spans: [],
  open: false,
  version: 3,
}
const LINES = [{ key: 0, known: BASE.waits[0]! }]
/** The form as it opens: Berlin is two hours ahead of UTC. */
const SHOWN: Record<string, string> = {
  failedAt: '2026-05-04T10:00',
  noticedAt: '2026-05-04T10:00',
  backInUseAt: '2026-05-04T14:00',
  failureMode: 'jammed',
  componentKey: '',
  cause: 'unknown',
  noticedHow: 'packer',
  reportedBy: 'Ada',
  note: '',
  'wait-0-reason': 'part',
  'wait-0-from': '2026-05-04T11:00',
}
const form = (typed: Record<string, string> = {}) => ({ get: (name: string) => ({ ...SHOWN, ...typed })[name] ?? null })

describe('what a form changes of a stoppage', () => {
  it('is nothing where nothing was typed', () => expect(changesOf(form(), LINES, BASE)).toEqual({}))

  it('is what was typed alone, with empty for not known', () => {
    expect(
      changesOf(form({ backInUseAt: '2026-05-04T12:30', noticedAt: '', cause: 'wear', planned: 'on', reportedBy: ' Bo ' }), LINES, BASE),
    ).toEqual({
      backInUseAt: '2026-05-04T10:30:00.000Z',
      noticedAt: null,
      cause: 'wear',
      planned: true,
      reportedBy: 'Bo',
    })
  })

  it('lies within its minute at the moment before, never before that', () => {
    expect(changesOf(form({ reportedAt: '2026-05-04T10:00' }), LINES, BASE)).toEqual({ reportedAt: '2026-05-04T08:00:42.000Z' })
    expect(waitsOf(form({ 'wait-0-from': '2026-05-04T10:00' }), LINES, 'Europe/Berlin', BASE.failedAt)).toEqual([
      { reason: 'part', fromAt: '2026-05-04T08:00:42.000Z', toAt: null },
    ])
  })

  it('holds all waits where one was changed, added or removed', () => {
    const added = { 'wait-1-reason': 'decision', 'wait-1-from': '2026-05-04T12:00', 'wait-1-to': '2026-05-04T13:00' }
    expect(changesOf(form(added), [...LINES, { key: 1, known: null }], BASE)).toEqual({
      waits: [BASE.waits[0], { reason: 'decision', fromAt: '2026-05-04T10:00:00.000Z', toAt: '2026-05-04T11:00:00.000Z' }],
    })
    expect(changesOf(form(), [], BASE)).toEqual({ waits: [] })
  })

  it('is said field by field', () => {
    const after = { ...BASE, cause: 'wear', backInUseAt: null, planned: true, waits: [], note: 'seen' }
    expect(sayChanges(BASE, after, 'Europe/Berlin', '2026-06-01')).toEqual([
      'Back in use: from 4 May, 14:00 to nothing',
      'Cause: from not known to wear',
      'Planned: from no to yes',
      'Note: from nothing to ‘seen’',
      'Waits: from 1 wait to 0 waits',
    ])
  })
})

describe('a moment of a stoppage', () => {
  it('has its year where that is another one, and says which in the hour that comes twice', () => {
    expect(sayMoment('2025-05-04T08:00:00.000Z', 'Europe/Berlin', '2026-06-01')).toBe('4 May 2025, 10:00')
    expect(sayMoment('2026-10-25T00:30:59.000Z', 'Europe/Berlin', '2026-11-01')).toBe('25 Oct, 02:30, the first time')
    expect(sayMoment('2026-10-25T01:30:00.000Z', 'Europe/Berlin', '2026-11-01')).toBe('25 Oct, 02:30, the second time')
  })

  it('that is not known is treated as the server splits the hours', () => {
    const open = { ...BASE, backInUseAt: null }
    expect(withoutIt('workBegunAt', open)).toBe('all since it was noticed counts as deciding or waiting')
    expect(withoutIt('workBegunAt', BASE)).toBe('taken as begun when it was noticed')
    expect([withoutIt('checkedAt', open), withoutIt('checkedAt', { ...open, workBegunAt: BASE.failedAt })]).toEqual([
      'no work is known of yet',
      'hands on up to now',
    ])
    expect(withoutIt('noticedAt', { ...BASE, reportedAt: BASE.failedAt })).toBe('taken as noticed when it was told')
    expect(withoutIt('checkedAt', { ...BASE, repairedAt: BASE.failedAt })).toBe('hands on until it was repaired')
  })
})
