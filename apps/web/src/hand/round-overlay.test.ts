import { describe, expect, it } from '@jest/globals'
import type { KeptEntry } from './outbox.js'
import { layAnswersOver, type Round, type RoundLine } from './round-overlay.js'

const line = (machineId: string, answer: RoundLine['answer'] = null): RoundLine => ({
  machineId,
  labelCode: machineId,
  typeName: 'Bench electric',
  stationName: 'A01',
  line: 'A',
  caution: '',
  tasks: [],
  minutes: 5,
  mayDo: true,
  answer,
})
const saved = { entryId: 's', outcome: 'done' as const, reason: null, personName: 'Ana', canUndo: true }
const round: Round = {
  warehouse: { id: 'w', name: 'North' },
  month: '2026-05',
  personName: 'Bo',
  cautions: [],
  acknowledgement: '',
  acknowledged: true,
  lines: [line('a', saved), line('b'), line('c')],
  doneCount: 1,
  openCount: 2,
}
const kept = (id: string, body: Record<string, unknown>): KeptEntry => ({ id, kind: 'round', body, keptAt: '' })

describe('a round with answers that are only on this phone', () => {
  it('ticks nothing that nobody answered', () => {
    expect(layAnswersOver(round, [])).toEqual(round)
  })

  it('shows the newest answer of a line as kept, with its reason, and counts only what is done', () => {
    const shown = layAnswersOver(round, [
      kept('1', { machineId: 'b', outcome: 'done' }),
      kept('2', { machineId: 'c', outcome: 'done' }),
      kept('3', { machineId: 'c', outcome: 'not_done', reason: 'no_oil' }),
    ])
    expect(shown.lines.map(({ answer }) => [answer?.outcome, answer?.reason, answer?.kept])).toEqual([
      ['done', null, undefined],
      ['done', null, true],
      ['not_done', 'no_oil', true],
    ])
    expect([shown.doneCount, shown.openCount]).toEqual([2, 1])
  })

  it('counts a line once that the server has as done already', () => {
    const shown = layAnswersOver(round, [kept('1', { machineId: 'a', outcome: 'done' })])
    expect([shown.doneCount, shown.openCount]).toEqual([1, 2])
  })
})
