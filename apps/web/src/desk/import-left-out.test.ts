import { expect, it } from '@jest/globals'
import { leftOut } from './import-left-out.js'

it('names each column that nothing takes, and none that is empty', () => {
  const found = { headings: ['Etikett', '', 'Stundensatz', '', 'Bemerkung'], sample: [['M-1', '', '42,5', 'x', '']] }
  expect(leftOut(found, { labelCode: 0 })).toBe('Left out, as nothing above takes it: ‘Stundensatz’, column 4, ‘Bemerkung’.')
  expect(leftOut(found, { labelCode: 0, money: 2, other: 3, note: 4 })).toBe('')
})
