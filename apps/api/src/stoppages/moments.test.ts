import { describe, expect, it } from '@jest/globals'
import { InvalidError } from '@tapewarden/platform'
import { checkMoments } from './moments.js'

const at = (clock: string) => `2026-05-04T${clock}:00Z`
const NOW = new Date(at('20:00'))
type Sent = Parameters<typeof checkMoments>[0]

/** By field. */
function faultsOf(sent: Sent, known: Sent = {}): Record<string, string> {
  try {
    checkMoments(sent, known, NOW, 'Europe/Berlin')
  } catch (error) {
    if (!(error instanceof InvalidError)) throw error
    const { errors } = error.details as { errors: { pointer: string; message: string }[] }
    return Object.fromEntries(errors.map(({ pointer, message }) => [pointer, message]))
  }
  return {}
}

describe('moments of a stoppage', () => {
  it('may follow each other, be the same, or not be known', () => {
    expect(faultsOf({ failedAt: at('08:00'), noticedAt: at('08:00'), repairedAt: null, backInUseAt: at('09:00') })).toEqual({})
  })

  it('are refused out of order, each at its own field, with the moment that it crosses by the clocks of the warehouse', () => {
    expect(faultsOf({ failedAt: at('10:00'), noticedAt: at('09:00'), repairedAt: at('12:00'), backInUseAt: at('11:00') })).toEqual({
      '/noticedAt': 'This lies before it failed, 4 May 2026, 12:00.',
      '/backInUseAt': 'This lies before it was repaired, 4 May 2026, 14:00.',
    })
  })

  it('are blamed where they were sent, not where they were known', () => {
    const known = { failedAt: at('08:00'), noticedAt: at('08:10'), backInUseAt: at('12:00') }
    expect(faultsOf({ failedAt: at('09:00') }, known)).toEqual({ '/failedAt': 'This lies after it was noticed, 4 May 2026, 10:10.' })
    expect(faultsOf({ backInUseAt: at('08:05') }, known)).toEqual({
      '/backInUseAt': 'This lies before it was noticed, 4 May 2026, 10:10.',
    })
    expect(faultsOf({ failedAt: at('09:00'), noticedAt: null }, known)).toEqual({})
  })

  it('that crossed already hinder nobody who changes another one', () => {
    const known = { failedAt: at('08:00'), reportedAt: at('11:00'), workBegunAt: at('10:00') }
    expect(faultsOf({}, known)).toEqual({})
    expect(faultsOf({ backInUseAt: at('12:00') }, known)).toEqual({})
    expect(faultsOf({ backInUseAt: at('10:30') }, known)).toEqual({
      '/backInUseAt': 'This lies before it was reported, 4 May 2026, 13:00.',
    })
  })

  it('lie in no future, five minutes of a clock that is ahead excepted', () => {
    expect(faultsOf({ failedAt: at('20:05') })).toEqual({})
    expect(faultsOf({ failedAt: at('19:00'), backInUseAt: at('20:06') })).toEqual({ '/backInUseAt': 'This lies in the future.' })
  })

  it('hold the waits between them', () => {
    const known = { failedAt: at('08:00'), backInUseAt: at('12:00') }
    const wait = (fromAt: string, toAt: string | null) => ({ reason: 'part', fromAt: at(fromAt), toAt: toAt && at(toAt) })
    expect(faultsOf({ waits: [wait('08:00', '12:00'), wait('09:00', null)] }, known)).toEqual({})
    expect(
      faultsOf({ waits: [wait('07:59', '09:00'), wait('10:00', '09:00'), wait('11:00', '12:01'), wait('13:00', null)] }, known),
    ).toEqual({
      '/waits/0/fromAt': 'This wait begins before it failed, 4 May 2026, 10:00.',
      '/waits/1/toAt': 'This wait ends before it begins.',
      '/waits/2/toAt': 'This wait ends after it was back in use, 4 May 2026, 14:00.',
      '/waits/3/fromAt': 'This wait begins after it was back in use, 4 May 2026, 14:00.',
    })
  })
})
