import { describe, expect, it } from '@jest/globals'
import type { HandSheet } from './overlay.js'
import { powerWords } from './power-words.js'

const wordsOf = (supply: HandSheet['machine']['supply']): string =>
  Object.values(powerWords({ machine: { supply } } as HandSheet)).join(' ')

describe('what a sheet says of the source of power', () => {
  it('names the plug, the isolator or the lever, whichever the machine has', () => {
    expect(wordsOf('cord_and_plug')).toMatch(/plug/)
    expect(wordsOf('wired_in')).toMatch(/isolator/)
    expect(wordsOf('none')).toMatch(/lever/)
    for (const other of ['wired_in', 'none'] as const) expect(wordsOf(other)).not.toMatch(/plug/)
    expect(wordsOf('none')).not.toMatch(/isolator|lock|cord|cable/)
  })
})
