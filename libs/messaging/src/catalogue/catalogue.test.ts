import { describe, expect, it } from '@jest/globals'
import { ENGLISH, type MessageKey } from './english.js'
import { formatMessage, namesIn, parseMessage } from './message-format.js'
import { LANGUAGES, languageOf, SENTENCES, Words } from './words.js'

const KEYS = Object.keys(ENGLISH) as MessageKey[]

describe('messages', () => {
  it.each(LANGUAGES)('are complete in %s, with the same values as in English, and can be read', (language) => {
    expect(Object.keys(SENTENCES[language]).sort()).toEqual([...KEYS].sort())
    for (const key of KEYS) expect([key, namesIn(SENTENCES[language][key])]).toEqual([key, namesIn(ENGLISH[key])])
  })

  it('are not English in German, but for those that hold only values', () => {
    const wordless = /^\P{L}*$/u
    const same = KEYS.filter((key) => SENTENCES.de[key] === ENGLISH[key] && !wordless.test(ENGLISH[key].replace(/\{\w+\}/g, '')))
    expect(same).toEqual([])
  })

  it('call one thing by one name in German, and everyone Sie', () => {
    const others = /Kennwort|Schreibtisch|Halle|Grenze|\bPost\b|Besuch|Pflege|versandt|Probenachricht/
    const familiar = /\b(du|dich|dir|dein\w*|euch|euer)\b/i
    expect(KEYS.filter((key) => others.test(SENTENCES.de[key]) || familiar.test(SENTENCES.de[key]))).toEqual([])
    // What follows a colon inside a sentence and is a sentence itself begins with a capital.
    expect(KEYS.filter((key) => /[a-zäöüß“]: (es|sie|er|was|setzen) /.test(SENTENCES.de[key]))).toEqual([])
  })

  it('choose plural forms by the language’s rules (CLDR: one is 1 in English and German, other is 0)', () => {
    const source = '{count, plural, =0 {none} one {# job} other {# jobs}}'
    expect([0, 1, 2, 1234.5].map((count) => formatMessage('en-GB', source, { count }))).toEqual(['none', '1 job', '2 jobs', '1,234.5 jobs'])
    expect(formatMessage('de-DE', source, { count: 1234 })).toBe('1.234 jobs')
    // CLDR: Polish has 'few' for 2 to 4 and 'many' for 5; the catalogue's form must follow, not a rule of ours.
    const polish = '{count, plural, one {# a} few {# b} many {# c} other {# d}}'
    expect([1, 3, 5, 1.5].map((count) => formatMessage('pl', polish, { count }))).toEqual(['1 a', '3 b', '5 c', '1,5 d'])
  })

  it('refuse broken braces, a plural without other, and a value that is missing', () => {
    for (const broken of ['{', 'a}', '{count, plural, one {x}}', '{a', '{a {b}}']) expect(() => parseMessage(broken)).toThrow(SyntaxError)
    expect(() => formatMessage('en', '{name}', {})).toThrow(RangeError)
  })

  it('put values in as they are: braces in a name are no message', () => {
    expect(formatMessage('en', 'Hello {name}', { name: '{count, plural, other {x}} #' })).toBe('Hello {count, plural, other {x}} #')
  })
})

describe('words', () => {
  it('write dates by language and units, with the year where it is another', () => {
    const day = '2026-05-12'
    expect(new Words('en', 'si', '2026-03-02').date(day)).toBe('12 May')
    expect(new Words('en', 'us', '2026-03-02').date(day)).toBe('May 12')
    expect(new Words('de', 'si', '2026-03-02').date(day)).toBe('12. Mai')
    expect(new Words('de', 'si', '2025-12-31').date(day)).toBe('12. Mai 2026')
  })

  it('fall back to English for a language that is not there', () => {
    expect(['de', 'de-AT', 'DE', 'en', 'fr', 'nds'].map(languageOf)).toEqual(['de', 'de', 'de', 'en', 'en', 'en'])
  })

  it('give safety lines only in a checked translation', () => {
    expect(new Words('de', 'si', '2026-01-01').safetyLine()).toEqual({
      text: 'Do not use until checked, or as your site’s rules say.',
      language: 'en',
    })
  })
})
