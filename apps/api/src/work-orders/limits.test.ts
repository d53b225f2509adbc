import { describe, expect, it } from '@jest/globals'
import type { Trigger } from '@tapewarden/shared'
import { replacesComponent } from './limits.js'

const task = (triggers: Trigger[], changes: object = {}) => ({
  taskKey: 'new_brushes',
  componentKey: 'motor_brush_set',
  parts: [],
  triggers,
  ...changes,
})

describe('whether a task of a plan of one’s own puts a new part in', () => {
  it.each<[boolean, Parameters<typeof replacesComponent>[0]]>([
    [true, task([{ kind: 'wear' }, { kind: 'finding' }])],
    [true, task([{ kind: 'least_cost_age' }])],
    [true, task([{ kind: 'finding' }], { parts: [{ componentKey: 'motor_brush_set', quantity: 1 }] })],
    [true, task([{ kind: 'finding' }], { taskKey: 'replace_motor_brushes' })],
    [false, task([{ kind: 'wear' }], { componentKey: null })],
    [false, task([{ kind: 'calendar', months: 6, mode: 'nominal' }], { parts: [{ componentKey: 'motor_brush_set', quantity: 1 }] })],
    [false, task([{ kind: 'usage', unit: 'strips', amount: 20_000 }])],
    [false, task([{ kind: 'life', failedFraction: 0.1 }])],
  ])('%s: %j', (replaces, asked) => expect(replacesComponent(asked)).toBe(replaces))
})
