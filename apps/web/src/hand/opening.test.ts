import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it } from '@jest/globals'

const read = (file: string): string => readFileSync(join(process.cwd(), 'apps/web', file), 'utf8')
const mainOf = (text: string): string =>
  (/<main[^]*<\/main>/.exec(text)?.[0] ?? '').replaceAll('className', 'class').replaceAll(/\s+/g, ' ').replaceAll('> <', '><')

it('the page itself says, before any script, what the script says first', () => {
  expect(mainOf(read('hand.html'))).toContain('Opening …')
  expect(mainOf(read('hand.html'))).toBe(mainOf(read('src/hand/opening.tsx')))
})
