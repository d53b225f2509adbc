import { describe, expect, it } from '@jest/globals'
import { machineToPlan, planningInput, planTask } from '../planning/fixtures-for-tests.js'
import { dateOf, dayOf } from '../time/day.js'
import { reachedResets, scoreOwnHistory } from './own-history.js'
import { scoreDates } from './score.js'

const task = planTask([{ kind: 'usage', unit: 'strips', amount: 20_000 }], { key: 'oil', serviceTaskId: 'oil' })
const first = dayOf('2026-01-05')
/** Weeks from Monday 5 January 2026, Monday to Friday 800 strips a day, and 1 000 from week `faster` on. */
const machine = (machineId: string, faster = 100) =>
  machineToPlan({
    machineId,
    usage: Array.from({ length: 22 }, (_, week) => ({
      from: first + 7 * week,
      to: first + 7 * week + 4,
      strips: week < faster ? 4000 : 5000,
      kind: 'counter' as const,
      relativeError: 0,
    })),
  })
const input = (machines: ReturnType<typeof machine>[]) => planningInput('2026-06-10', [task], machines)

describe('an organisation’s own history', () => {
  it('asks as of each reset and compares with the day on which the ledger reached the amount', () => {
    const doneOn = [dayOf('2026-01-09'), dayOf('2026-02-13'), dayOf('2026-05-22')]
    const dues = scoreOwnHistory(input([machine('a')]), [{ machineId: 'a', serviceTaskId: 'oil', doneOn }], 'here')
    // 20 000 strips are five weeks of 4 000: from Friday to Friday. The third is not reached yet.
    expect(dues.map(({ trueOn, lastRepeatedOn }) => [trueOn, lastRepeatedOn].map((day) => (day === null ? null : dateOf(day))))).toEqual([
      ['2026-03-20', '2026-03-20'],
      ['2026-02-13', null],
    ])
    for (const { early, likely, late, trueOn } of dues) {
      expect(early).toBeLessThanOrEqual(trueOn!)
      expect(late).toBeGreaterThanOrEqual(trueOn!)
      expect(likely).not.toBeNull()
    }
    expect(scoreDates(dues).between.value).toBeGreaterThan(0.9)
  })

  it('does not know what came after the reset', () => {
    const resets = [{ machineId: 'a', serviceTaskId: 'oil', doneOn: [dayOf('2026-03-13')] }]
    const steady = scoreOwnHistory(input([machine('a')]), resets, 'here')
    const faster = scoreOwnHistory(input([machine('a', 10)]), resets, 'here')
    const told = ({ early, likely, late }: (typeof steady)[number]) => [early, likely, late]
    expect(faster.map(told)).toEqual(steady.map(told))
    expect(faster[0]!.trueOn).toBeLessThan(steady[0]!.trueOn!)
  })

  it('leaves out machines, tasks and resets of which it knows nothing', () => {
    const resets = [
      { machineId: 'other', serviceTaskId: 'oil', doneOn: [first + 4] },
      { machineId: 'a', serviceTaskId: 'other', doneOn: [first + 4] },
      { machineId: 'a', serviceTaskId: 'oil', doneOn: [dayOf('2026-06-08')] },
    ]
    expect(scoreOwnHistory(input([machine('a')]), resets, 'here')).toEqual([])
  })

  it('asks only for what is wanted, and tells the reached resets without a forecast', () => {
    const doneOn = [dayOf('2026-01-09'), dayOf('2026-02-13'), dayOf('2026-05-22')]
    const resets = [{ machineId: 'a', serviceTaskId: 'oil', doneOn }]
    const reached = reachedResets(input([machine('a')]), resets)
    expect(reached.map(({ doneOn: from, dueOn }) => [dateOf(from), dateOf(dueOn)])).toEqual([
      ['2026-02-13', '2026-03-20'],
      ['2026-01-09', '2026-02-13'],
    ])
    const dues = scoreOwnHistory(input([machine('a')]), resets, 'here', { wanted: (reset) => reset.dueOn < dayOf('2026-03-01') })
    expect(dues.map(({ machineId, doneOn: from }) => [machineId, dateOf(from)])).toEqual([['a', '2026-01-09']])
    expect(scoreOwnHistory(input([machine('a')]), resets, 'here', { atMost: 1 })).toHaveLength(1)
  })
})
