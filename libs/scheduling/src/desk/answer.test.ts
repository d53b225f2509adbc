import { describe, expect, it } from '@jest/globals'
import { answerInputs, answerLine, answerQuestion } from './answer.js'
import { calculations } from './registry.js'

const FEET = { name: 'convert', inputs: { value: 375, from: 'ft', to: 'm' } }

describe('one line in, one answer out', () => {
  it('answers with the name and the result', () => {
    expect(answerLine(JSON.stringify(FEET))).toEqual({ name: 'convert', result: { value: 114.3 } })
  })

  it.each([
    ['{"name":"nothing","inputs":{}}', 'nothing', 'nothing: there is no calculation of this name; --list names them all'],
    ['{"inputs":{}}', null, 'name: must be the name of a calculation'],
    ['{"name":"convert"}', 'convert', 'convert: inputs is missing'],
    ['[1]', null, 'line: must be an object with name and inputs'],
  ])('%s is answered with an error', (line, name, error) => expect(answerLine(line)).toEqual({ name, error }))

  it('what is not JSON is said', () => {
    expect(answerLine('{"name": }')).toMatchObject({ name: null, error: expect.stringContaining('line: is not JSON') })
    expect(answerInputs('convert', '')).toMatchObject({ error: expect.stringContaining('convert: inputs are not JSON') })
  })

  it('NaN and infinity, which are not JSON, are refused under the name of their field', () => {
    expect(answerInputs('convert', '{"value": NaN, "from": "ft", "to": "m"}')).toEqual({
      error: 'convert: value must be a finite number; it is "NaN"',
    })
    expect(answerLine('{"name":"weibull-fit","inputs":{"time":[1,-Infinity],"failed":[1,1]}}')).toEqual({
      name: 'weibull-fit',
      error: 'weibull-fit: time[1] must be a finite number; it is "-Infinity"',
    })
    expect(answerInputs('convert', '{"value": 1, "from": "NaN", "to": "m"}')).toMatchObject({ error: expect.stringContaining('from') })
  })
})

it('every calculation refuses an empty object with one sentence under its own name', () => {
  for (const name of calculations.keys()) {
    const answer = answerQuestion(name, {})
    if ('error' in answer) expect(answer.error).toMatch(new RegExp(`^${name}: \\S+.* `))
    expect('error' in answer).toBe(true)
  }
})

it('what an inner search cannot settle is said of the inputs, never of a field that nobody asked for', () => {
  const error = 'inputs hold a value too large, too small or too far from the others for this sum'
  expect(answerQuestion('shrinkage-normal', { estimates: [1, 2], standardErrors: [1, 5e-324] })).toEqual({
    error: `shrinkage-normal: ${error}`,
  })
  expect(answerQuestion('reorder-point-poisson', { demandPerDay: 1e308, leadDays: 21, service: 0.9 })).toEqual({
    error: `reorder-point-poisson: ${error}`,
  })
})

it('an inherited property is no calculation', () => {
  expect(answerQuestion('toString', {})).toEqual({ error: 'toString: there is no calculation of this name; --list names them all' })
})
