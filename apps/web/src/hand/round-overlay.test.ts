import { describe, expect, it } from '@jest/globals'
import type { KeptEntry } from './outbox.js'
import { ACKNOWLEDGE, inMonth, layAnswersOver, layRoundOver, type Round, type RoundLine, undoPath } from './round-overlay.js'

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
  warehouse: { id: 'w', name: 'North', zone: 'Europe/Berlin' },
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

describe('a round that goes on without a network', () => {
  const answered = (id: string, machineId: string, month = '2026-05'): KeptEntry =>
    kept(id, { warehouseId: 'w', month, machineId, outcome: 'done' })
  const undoing = (id: string): KeptEntry => ({ id: `undo ${id}`, kind: 'post', path: undoPath(id), body: {}, keptAt: '' })
  const done = (shown: Round): string[] => shown.lines.filter(({ answer }) => answer).map(({ machineId }) => machineId)

  it('takes back what the server has already, and what it took meanwhile', () => {
    const shown = layRoundOver(round, [answered('1', 'b'), undoing('s'), undoing('1'), answered('2', 'c')])
    expect([done(shown), shown.doneCount, shown.openCount]).toEqual([['c'], 1, 2])
    const again = layRoundOver(round, [undoing('s'), answered('3', 'a')])
    expect([done(again), again.doneCount, again.openCount]).toEqual([['a'], 1, 2])
  })

  it('is another round in another month: nothing of it is read or answered yet', () => {
    const june = inMonth(round, '2026-06')
    expect([june.month, june.listOf, june.acknowledged, june.doneCount, june.openCount]).toEqual(['2026-06', '2026-05', null, 0, 3])
    const read = { ...kept('r', { warehouseId: 'w', month: '2026-06' }), kind: 'post' as const, path: ACKNOWLEDGE }
    const shown = layRoundOver(june, [answered('1', 'b'), read, answered('2', 'c', '2026-06')])
    expect([done(shown), shown.acknowledged]).toEqual([['c'], true])
    expect(inMonth(round, '2026-05')).toBe(round)
  })
})
