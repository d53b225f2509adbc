import { describe, expect, it } from '@jest/globals'
import { readScan, scannerKeys, surprisedBy } from './scan.js'

describe('a scan', () => {
  it('is the letters of a label, from its address or as typed', () => {
    expect(readScan('HTTPS://TAPE.EXAMPLE:8443/L/0123456789AB')).toBe('0123456789AB')
    expect(readScan('https://tape.example/l/zz34567890ab?from=camera')).toBe('ZZ34567890AB')
    expect(readScan('  n-017 ')).toBe('n-017')
    // I, L, O and U are no letters of a label.
    expect(readScan('https://tape.example/L/ILOU456789AB')).toBe('https://tape.example/L/ILOU456789AB')
  })

  it('asks where the machine is now when the books have it elsewhere', () => {
    const here = { status: 'in_service', warehouse: { id: 'w1', name: 'North' }, station: { name: 'B07', line: 'B' } }
    expect(surprisedBy(here, 'w1')).toBeNull()
    expect(surprisedBy(here, null)).toBeNull()
    expect(surprisedBy(here, 'w2')).toBe('It is registered in another warehouse: North.')
    expect(surprisedBy({ ...here, station: null }, 'w1')).toBe('It is registered at no station.')
    for (const status of ['on_the_shelf', 'at_the_bench', 'away_for_repair', 'not_found', 'retired'])
      expect(surprisedBy({ ...here, status }, 'w1')).toContain(status.replaceAll('_', ' '))
  })

  it('comes from a hand scanner as fast keys and Enter; a person’s slow keys are none', () => {
    const scans: string[] = []
    const type = scannerKeys((text) => scans.push(text))
    for (const [index, key] of [...'N-017'.split(''), 'Enter'].entries()) type(key, index * 12)
    for (const [index, key] of [...'N-018'.split(''), 'Enter'].entries()) type(key, 10_000 + index * 180)
    type('Enter', 20_000)
    for (const [index, key] of ['Shift', 'N', '-', '9', 'Enter'].entries()) type(key, 30_000 + index * 20)
    expect(scans).toEqual(['N-017', 'N-9'])
  })
})
