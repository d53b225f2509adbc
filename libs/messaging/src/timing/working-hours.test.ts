import { describe, expect, it } from '@jest/globals'
import { localMoment } from './working-hours.js'

const week = [1, 2, 3, 4, 5].map((weekday) => ({ weekday, starts: '06:00:00', ends: '14:00:00' }))
const berlin = { zone: 'Europe/Berlin', shifts: week, closures: [{ from: '2026-12-24', to: '2026-12-26' }] }
const at = (text: string, warehouse = berlin) => localMoment(warehouse, new Date(text))

describe('working hours', () => {
  it('are the warehouse’s own, across the change to summer time (29 March 2026, 02:00 to 03:00)', () => {
    // Friday 27 March is UTC+1, Monday 30 March is UTC+2.
    expect(at('2026-03-27T05:00:00Z')).toEqual({ today: '2026-03-27', minutesOpen: 0 })
    expect(at('2026-03-27T04:59:00Z').minutesOpen).toBeNull()
    expect(at('2026-03-30T04:00:00Z')).toEqual({ today: '2026-03-30', minutesOpen: 0 })
    expect(at('2026-03-30T11:59:00Z').minutesOpen).toBe(479)
    expect(at('2026-03-30T12:00:00Z').minutesOpen).toBeNull()
  })

  it('are none on a day without a shift and on a closed day', () => {
    expect(at('2026-03-28T08:00:00Z')).toEqual({ today: '2026-03-28', minutesOpen: null })
    expect(at('2026-12-25T08:00:00Z').minutesOpen).toBeNull()
  })

  it('end at midnight where a shift runs into the next day', () => {
    const late = { ...berlin, shifts: [{ weekday: 5, starts: '22:00', ends: '06:00' }] }
    expect(at('2026-03-27T21:30:00Z', late).minutesOpen).toBe(30)
    expect(at('2026-03-28T01:00:00Z', late).minutesOpen).toBeNull()
  })

  it('are the usual ones, Monday to Friday, where no shift is named yet', () => {
    const none = { ...berlin, shifts: [] }
    expect(at('2026-03-27T07:00:00Z', none).minutesOpen).toBe(0)
    expect(at('2026-03-28T09:00:00Z', none).minutesOpen).toBeNull()
  })
})
