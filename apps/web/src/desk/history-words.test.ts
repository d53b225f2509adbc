import { describe, expect, it } from '@jest/globals'
import { differences } from './history-words.js'

describe('what a change says', () => {
  it('names each field that differs, from what to what', () => {
    const before = { serialNumber: 'S-1', mayOpen: 'our_technicians', warrantyUntil: null, version: 3, note: '' }
    const after = { serialNumber: 'S-2', mayOpen: 'service_firm_only', warrantyUntil: '2027-01-01', version: 4, note: '' }
    expect(differences(before, after)).toEqual([
      'serial number: S-1 → S-2',
      'may open: our technicians → service firm only',
      'warranty until: nothing → 2027-01-01',
    ])
  })
  it('names things by their name, and leaves lists, ids and what follows by itself out', () => {
    const before = { station: { id: 'a', name: 'B07' }, stationId: 'a', placements: [1], planned: false }
    const after = { station: { id: 'b', name: 'B08' }, stationId: 'b', placements: [1, 2], planned: true }
    expect(differences(before, after)).toEqual(['station: B07 → B08', 'planned: no → yes'])
  })
  it('says nothing of what was made or taken away, and cuts what is long', () => {
    expect(differences(undefined, { name: 'x' })).toEqual([])
    expect(differences({ name: 'x' }, null)).toEqual([])
    expect(differences({ note: '' }, { note: 'a'.repeat(80) })).toEqual([`note: nothing → ${'a'.repeat(60)}…`])
  })
})
