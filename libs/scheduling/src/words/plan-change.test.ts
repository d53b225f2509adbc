import { describe, expect, it } from '@jest/globals'
import type { Trigger } from '@tapewarden/shared'
import { sayPlanChange } from './plan-change.js'

const months = (count: number): Trigger => ({ kind: 'calendar', months: count, mode: 'nominal' })
const strips = (amount: number): Trigger => ({ kind: 'usage', unit: 'strips', amount })

describe('what a changed plan does, rule 19 in words', () => {
  it.each([
    ['longer', [months(6)], [months(12)], false, ['the date that stands stays']],
    ['shorter', [months(12)], [months(6)], false, ['spread over four weeks']],
    ['shorter, a safety check', [months(12)], [months(6)], true, ['in the first week']],
    ['fewer strips', [strips(20_000)], [strips(15_000)], false, ['From 20 000 to 15 000 strips. What was used']],
    ['another trigger', [months(6)], [months(6), strips(10_000)], false, ['by something new']],
    ['one trigger less', [months(6), strips(10_000)], [months(6)], false, ['no longer falls due by everything']],
    ['new', null, [months(6)], false, ['New in the plan']],
    ['gone', [months(6)], null, false, ['No longer asked for']],
    ['the same', [months(6)], [months(6)], false, []],
  ] as const)('%s', (_name, before, after, safetyCheck, parts) => {
    const said = sayPlanChange({ before, after, safetyCheck })
    expect(said).toHaveLength(parts.length)
    parts.forEach((part, index) => expect(said[index]).toContain(part))
  })
})
