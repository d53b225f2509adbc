/** `docs/calculations.md` has a section for every calculation, and its examples give what it says. */
import { describe, expect, it } from '@jest/globals'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { answerQuestion } from './answer.js'
import { calculations } from './registry.js'

const text = readFileSync(join(import.meta.dirname, '../../../../docs/calculations.md'), 'utf8')
const sections = new Map(
  text
    .split(/^## /m)
    .slice(1)
    .map((section) => [section.split('\n', 1)[0] as string, section]),
)
const blocks = (section: string): unknown[] =>
  [...section.matchAll(/```json\n([\s\S]*?)```/g)].map((match) => JSON.parse(match[1] as string))

/** Numbers agree to the seven digits that are printed. */
function agrees(value: unknown, wanted: unknown): boolean {
  if (typeof wanted === 'number') return typeof value === 'number' && Math.abs(value - wanted) <= 6e-7 * Math.abs(wanted) + 1e-12
  if (Array.isArray(wanted))
    return Array.isArray(value) && value.length === wanted.length && wanted.every((each, index) => agrees(value[index], each))
  if (typeof wanted === 'object' && wanted !== null)
    return (
      typeof value === 'object' &&
      value !== null &&
      Object.entries(wanted).every(([key, each]) => agrees((value as Record<string, unknown>)[key], each))
    )
  return value === wanted
}

describe('docs/calculations.md', () => {
  it.each([...calculations.keys()])('%s has a section whose example holds', (name) => {
    const [inputs, wanted] = blocks(sections.get(name) ?? '')
    expect({ name, documented: wanted !== undefined }).toEqual({ name, documented: true })
    const answer = answerQuestion(name, inputs)
    if (!('result' in answer)) throw new Error(answer.error)
    expect({ agrees: agrees(answer.result, wanted), result: answer.result }).toMatchObject({ agrees: true })
  })

  it('has no section for a calculation that is not there', () => {
    for (const name of sections.keys()) expect([...calculations.keys()]).toContain(name)
  })
})
