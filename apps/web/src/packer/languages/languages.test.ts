import { describe, expect, it } from '@jest/globals'
import { LANGUAGES, languageFor, withName } from './index.js'
import type { PackerWords } from './words.js'

const all = Object.entries(LANGUAGES) as [string, PackerWords][]

/** Every sentence with the way to it. */
function sentences(words: object, at = ''): [string, string][] {
  return Object.entries(words).flatMap(([key, value]) =>
    typeof value === 'string' ? [[`${at}${key}`, value] as [string, string]] : sentences(value as object, `${at}${key}.`),
  )
}
const english = sentences(LANGUAGES.en)

describe('the packer’s page in each language', () => {
  it.each(all)('%s says everything that English says, with the same name in it', (_key, words) => {
    const said = sentences(words)
    expect(said.map(([at]) => at)).toEqual(english.map(([at]) => at))
    for (const [index, [at, text]] of said.entries()) {
      expect([at, text.trim()]).not.toEqual([at, ''])
      expect([at, text.includes('{name}')]).toEqual([at, english[index]?.[1].includes('{name}')])
    }
  })

  it.each(all.filter(([key]) => key !== 'en'))('%s leaves no safety line in English', (_key, words) => {
    const safety = Object.values(LANGUAGES.en.safety) as string[]
    expect(Object.values(words.safety).filter((line) => safety.includes(line))).toEqual([])
  })

  it('promises nothing on any screen', () => {
    for (const [, words] of all)
      for (const [at, text] of sentences(words)) expect([at, /\b(safe|OK|healthy|cleared)\b/.test(text)]).toEqual([at, false])
  })
})

describe('languageFor', () => {
  it.each([
    [[null, 'pl-PL', 'en-US'], 'pl'],
    [['fr', 'de'], 'fr'],
    [[null, 'sw', 'de-AT'], 'de'],
    [[null, 'sw'], 'en'],
    [['__proto__'], 'en'],
  ] as const)('%j: %s', (wanted, key) => expect(languageFor(wanted)).toBe(key))
})

it('puts a name into its sentence', () => {
  expect(withName('call {name}.', 'Mara')).toBe('call Mara.')
})
