import { describe, expect, it } from '@jest/globals'
import { CAUTION_ACKNOWLEDGEMENTS } from '@tapewarden/shared'
import { type Entry, sayAnswer, sayEntry } from './entry-words.js'

const TASK = '018f2f70-0000-7000-8000-000000000001'
const PART = '018f2f70-0000-7000-8000-000000000002'
const task = {
  id: TASK,
  taskKey: 'measure_motor_brushes',
  name: 'Measure both brushes',
  steps: [
    { key: 'open', text: 'Take the cover off.', answer: 'tick' },
    { key: 'even', text: 'Worn evenly?', answer: 'yes_no' },
    { key: 'felt', text: 'How is the felt?', answer: 'choice', choices: ['dry', 'oily'] },
    { key: 'other', text: 'Anything else?', answer: 'text' },
  ],
  measurements: [{ key: 'motor_brush', name: 'Shorter brush' }],
}
const sheet = { tasks: [task] } as unknown as Parameters<typeof sayEntry>[1]
const say = (kind: string, content: object = {}, units: 'si' | 'us' = 'si', partName: string | null = null) => {
  const entry = { id: PART, kind, madeAt: '2026-05-04T07:30:00.000Z', content, partName } as unknown as Entry
  const { said, words } = sayEntry(entry, sheet, units)
  return words === '' ? said : [said, words]
}
const of = (more: object) => ({ taskId: TASK, ...more })

describe('an entry in words', () => {
  it.each([
    ['accept', {}, 'accepted it'],
    [
      'acknowledge_cautions',
      { statement: CAUTION_ACKNOWLEDGEMENTS.plug },
      'ticked the cautions: ‘I have read this. The plug is out and with me.’',
    ],
    ['wait', { waitingFor: 'second_person', note: '' }, 'waits for a second person'],
    ['wait', { waitingFor: 'part', note: 'comes on Friday' }, ['waits for a part', 'comes on Friday']],
    ['answer_step', of({ stepKey: 'open', answer: true }), 'Measure both brushes, ‘Take the cover off.’ ticked'],
    ['answer_step', of({ stepKey: 'even', answer: false }), 'Measure both brushes, ‘Worn evenly?’ no'],
    ['answer_step', of({ stepKey: 'felt', answer: 'dry' }), 'Measure both brushes, ‘How is the felt?’ dry'],
    ['answer_step', of({ stepKey: 'other', answer: 'spring is weak' }), ['Measure both brushes, ‘Anything else?’', 'spring is weak']],
    ['finding', { text: 'dried glue', safety: false, withinDays: 1 }, ['found, which asks for work within 1 day', 'dried glue']],
    [
      'finding',
      { text: 'cord is cut', safety: true, taskKey: 'measure_motor_brushes' },
      ['found, for safety, which asks for ‘Measure both brushes’', 'cord is cut'],
    ],
    ['task_done', of({ removalReason: 'worn' }), 'Measure both brushes: done; the old part was taken out: worn'],
    ['task_not_done', of({ reason: 'no time' }), ['Measure both brushes: not done', 'no time']],
    ['tag_out', { reason: 'smells burnt' }, ['tagged the machine out', 'smells burnt']],
    ['finding', { text: 'loose screw' }, ['found', 'loose screw']],
    ['note', { text: 'felt dry\nand loose' }, ['wrote', 'felt dry\nand loose']],
    ['hand_back', { reason: 'not trained for this' }, ['handed it back', 'not trained for this']],
    ['finish', { minutesWorked: 25, note: 'cover was loose' }, ['finished, after 25 minutes of work', 'cover was loose']],
    ['finish', { minutesWorked: 1, note: '' }, 'finished, after 1 minute of work'],
  ])('says %s %j', (kind, content, words) => expect(say(kind, content)).toEqual(words))

  it('says what was measured in the reader’s units, whichever were typed', () => {
    const measure = (value: number, unit: string) =>
      of({ measurementKey: 'motor_brush', value, unit, enteredText: '', whenTaken: 'as_found' })
    // 0.45 in × 25.4 mm = 11.43 mm.
    expect(say('measure', measure(0.45, 'in'))).toBe('measured Shorter brush: 11.4 mm, as found')
    expect(say('measure', measure(11.43, 'mm'), 'us')).toBe('measured Shorter brush: 0.450 in, as found')
    expect(say('measure', { ...measure(11.43, 'mm'), instead: true })).toBe(
      'measured Shorter brush: 11.4 mm, as found, instead of what was typed before',
    )
    expect(say('measure', measure(3, 'count'), 'us')).toBe('measured Shorter brush: 3, as found')
  })

  it('names a part by its name', () => {
    expect(say('use_part', { partId: PART, quantity: 2 }, 'si', 'Brush set')).toBe('used 2 × Brush set')
    expect(say('use_part', { partId: PART, quantity: 1 })).toBe('used 1 × a part that is no longer known')
    expect(say('task_again', { taskId: PART })).toBe('a task that is no longer on it: to be done after all')
    expect(say('put_back_part', { partId: PART, quantity: 1 }, 'si', 'Brush set')).toBe('put back 1 × Brush set')
  })

  it('says a function check with what came out', () => {
    const check = { tape: 'plain', roll: 'half', coversOn: true, cordLookedAt: false, wetStripTore: true }
    expect(say('function_check', { ...check, strips: [{ askedMm: 150, measuredMm: 152 }] })).toBe(
      'function check with plain tape, half a roll: 150.0 mm came out as 152.0 mm; covers on; cord not looked at; the wet strip tore the paper',
    )
  })

  it('names by its kind what it cannot read', () => expect(say('answer_step', { of: 'another age' })).toBe('answer step'))
  it('says a number that was counted', () => expect(sayAnswer(undefined, 2.5)).toEqual({ said: '2.5', words: '' }))
})
