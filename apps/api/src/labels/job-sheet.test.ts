import { describe, expect, it } from '@jest/globals'
import { linesToWrite } from './job-sheet.js'

const brush = { name: 'Shorter brush', unit: 'mm', planLimit: 9.525, neverBelow: 6.35 } as const

describe('the values on a printed work order', () => {
  it('are asked for in the units of whoever prints it (1 in = 25.4 mm)', () => {
    expect(linesToWrite(brush, 'si')).toEqual([
      'Shorter brush, as found, mm (replace at 9.53 mm, never below 6.35 mm):',
      'Shorter brush, as left, mm:',
    ])
    expect(linesToWrite(brush, 'us')).toEqual([
      'Shorter brush, as found, in (replace at 0.375 in, never below 0.250 in):',
      'Shorter brush, as left, in:',
    ])
  })

  it('that are counted have no unit', () => {
    const teeth = { name: 'Worn teeth', unit: 'count', planLimit: null, neverBelow: 2 } as const
    expect(linesToWrite(teeth, 'us')).toEqual(['Worn teeth, as found (never below 2):', 'Worn teeth, as left:'])
    expect(linesToWrite({ ...teeth, neverBelow: null }, 'si')[0]).toBe('Worn teeth, as found (no limit):')
  })
})
