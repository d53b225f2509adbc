import { instantToDay, instantToMinute } from '@tapewarden/scheduling'
import { describe, expect, it } from '@jest/globals'
import { LocalMoments } from './local-moments.js'

describe('local moments of many instants', () => {
  it.each(['Europe/Berlin', 'America/St_Johns', 'Australia/Lord_Howe', 'Asia/Kolkata', 'Pacific/Apia'])(
    'agree with the slow way in %s, also on days on which clocks change',
    (zone) => {
      const moments = new LocalMoments(zone)
      // Every 3 h 7 min over three years, so each change of clocks is met from both sides.
      for (let ms = Date.parse('2024-12-30T00:00:00Z'); ms < Date.parse('2027-01-02T00:00:00Z'); ms += (3 * 60 + 7) * 60_000)
        expect(moments.of(ms)).toEqual({ day: instantToDay(zone, ms), minute: instantToMinute(zone, ms) })
    },
  )
  it('know when a local day begins', () => {
    // Berlin is one hour ahead of UTC in March 2026 (CET), two in July (CEST).
    expect(new LocalMoments('Europe/Berlin').beginOf(20_514).toISOString()).toBe('2026-03-01T23:00:00.000Z')
    expect(new LocalMoments('Europe/Berlin').beginOf(20_636).toISOString()).toBe('2026-07-01T22:00:00.000Z')
  })
})
