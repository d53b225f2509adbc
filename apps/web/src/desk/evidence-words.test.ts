import { expect, it } from '@jest/globals'
import { sayEvidence } from './evidence-words.js'

const day = { fromDate: '2026-10-01', toDate: '2026-10-01', detail: {} }
const month = { fromDate: '2026-10-01', toDate: '2026-10-31' }

it.each([
  [{ ...day, ...month, kind: 'rolls', amount: 12.5 }, '12.5 rolls from 1 Oct to 31 Oct'],
  [{ ...day, kind: 'counter_reading', amount: 120_500 }, 'counter at 120\u00a0500 on 1 Oct'],
  [{ ...day, kind: 'cartons_day', amount: 1250 }, '1\u00a0250 cartons on 1 Oct'],
  [{ ...month, kind: 'monthly_tap', amount: null, detail: { runs: 'some_hours' } }, 'runs some hours from 1 Oct to 31 Oct'],
] as const)('says %j unrounded and in words', (item, words) => {
  expect(sayEvidence(item, '2026-11-27')).toBe(words)
})
