import { describe, expect, it } from '@jest/globals'
import { dayOf } from '../time/day.js'
import { doneOn, machineToPlan, planningInput, planTask } from './fixtures-for-tests.js'
import { months } from './plans-for-tests.js'
import { planMachines } from './plan-machines.js'

const blade = {
  componentId: 'b',
  componentKey: 'blade',
  newOn: dayOf('2016-06-15'),
  fittedOn: dayOf('2016-06-15'),
  usedStripsBefore: 0,
  stripsTotalAtFitting: 0,
  lengths: [],
}
const replace = (more: object) =>
  planTask([{ kind: 'finding' }, { kind: 'least_cost_age', ...more }], { key: 'replace', componentKey: 'blade' })
const costs = { plannedCost: 100, failureCost: 1000 }
const life = (shapeLower95: number | null) => ({ blade: { shape: 2.934, scaleYears: 13.76, removals: 12, failures: 9, shapeLower95 } })
const forecast = (task: ReturnType<typeof planTask>, lower: number | null, more = {}) =>
  planMachines(planningInput('2026-06-15', [task], [machineToPlan({ components: [blade], ...more })], { life: life(lower) }))[0]!
    .forecasts[0]!

describe('least-cost age (rule 16)', () => {
  it('gives a date only where the lower bound of the shape is above 1 and both costs are stated', () => {
    expect(forecast(replace(costs), 1.4)).toMatchObject({ state: 'dated', governing: 'least_cost_age' })
    expect(forecast(replace(costs), 1)).toMatchObject({ state: 'no_date' })
    expect(forecast(replace(costs), null)).toMatchObject({ state: 'no_date' })
    expect(forecast(replace({}), 1.4)).toMatchObject({ state: 'no_date' })
    expect(forecast(replace({ plannedCost: 100, failureCost: 100 }), 1.4)).toMatchObject({ state: 'no_date' })
  })

  it('an age not known gives none', () => {
    expect(forecast(replace(costs), 1.4, { components: [{ ...blade, newOn: null }] })).toMatchObject({ state: 'no_date', likelyOn: null })
  })
})

describe('life in strips', () => {
  const inspect = planTask([months(12), { kind: 'life', failedFraction: 0.1 }], { key: 'inspect', componentKey: 'blade' })

  it('is a threshold of use where the type counts so: a busier machine is looked at sooner', () => {
    const look = (perWeek: number) => {
      const usage = Array.from({ length: 20 }, (_, week) => ({
        from: dayOf('2026-06-14') - 7 * (20 - week) + 1,
        to: dayOf('2026-06-14') - 7 * (19 - week),
        strips: perWeek,
        kind: 'counter' as const,
        relativeError: 0,
      }))
      const machine = machineToPlan({
        components: [{ ...blade, stripsTotalAtFitting: 0 }],
        usage,
        stripsTotal: 1_500_000,
        lastDone: { inspect: doneOn('2026-06-10', { stripsTotal: 1_499_000 }) },
      })
      const input = planningInput('2026-06-15', [inspect], [machine], { life: life(null) })
      const types = { type: { ...input.types.type!, bladeLifeUnit: 'strips' as const } }
      return planMachines({ ...input, types })[0]!.forecasts[0]!
    }
    const [quiet, busy] = [look(2000), look(40_000)]
    expect(busy.governing).toBe('life')
    expect(busy.likelyOn!).toBeLessThan(quiet.likelyOn!)
    expect(quiet.likelyOn!).toBeLessThanOrEqual(dayOf('2027-06-10'))
  })
})
