import { describe, expect, it } from '@jest/globals'
import { minutesWorked } from './work-clock.js'

const at = (time: string, kind: string) => ({ kind, madeAt: `2026-05-04T${time}:00Z` })
const now = Date.parse('2026-05-04T10:00:00Z')

describe('minutesWorked', () => {
  it.each([
    ['nothing begun', [], null],
    ['begun 25 minutes ago', [at('09:35', 'start')], 25],
    ['a wait of 20 minutes does not count', [at('09:00', 'start'), at('09:10', 'wait'), at('09:30', 'resume')], 40],
    ['still waiting: the time to the wait', [at('09:00', 'start'), at('09:10', 'wait')], 10],
    ['in any order', [at('09:30', 'resume'), at('09:00', 'start'), at('09:10', 'wait')], 40],
    ['handed back and begun anew', [at('08:00', 'start'), at('08:05', 'hand_back'), at('09:50', 'start')], 15],
    ['answers change nothing', [at('09:35', 'start'), at('09:40', 'answer_step')], 25],
    ['just begun is a minute', [at('10:00', 'start')], 1],
    ['a clock of yesterday is no clock', [{ kind: 'start', madeAt: '2026-05-03T09:00:00Z' }], null],
  ])('%s', (_what, entries, minutes) => expect(minutesWorked(entries, now)).toBe(minutes))
})
