/** Every `@example` of this package's doc comments is run: `expression // value`, digits cut off by `…`. */
import { describe, expect, it } from '@jest/globals'
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import * as library from './index.js'

const folder = import.meta.dirname

function examplesOf(path: string): [string, string, string][] {
  const found = readFileSync(join(folder, path), 'utf8').matchAll(/@example (.+?) \/\/ (.+?)(?: \*\/)?$/gm)
  return [...found].map((match) => [path, match[1] as string, (match[2] as string).trim()])
}

const examples = readdirSync(folder, { recursive: true, encoding: 'utf8' })
  .filter((path) => path.endsWith('.ts') && !path.endsWith('.test.ts'))
  .flatMap(examplesOf)

function evaluate(expression: string): unknown {
  const names = Object.keys(library)
  // oxlint-disable-next-line typescript/no-implied-eval -- the expressions are our own doc comments
  return new Function(...names, `return (${expression})`)(...names.map((name) => (library as Record<string, unknown>)[name]))
}

describe('examples in doc comments', () => {
  it('are there', () => expect(examples.length).toBeGreaterThan(15))

  it.each(examples)('%s: %s gives %s', (_path, expression, wanted) => {
    const value = evaluate(expression)
    if (typeof value === 'number') {
      const digits = wanted.endsWith('…') ? wanted.slice(0, -1) : wanted
      const places = (digits.split('.')[1] ?? '').length
      expect(Math.abs(value - Number(digits))).toBeLessThan(wanted.endsWith('…') ? 10 ** -places : 1e-12 * Math.max(1, Math.abs(value)))
    } else expect(value).toEqual(JSON.parse(wanted))
  })
})
