import { de } from './de.js'
import { en } from './en.js'
import { es } from './es.js'
import { fr } from './fr.js'
import { it } from './it.js'
import { nl } from './nl.js'
import { pl } from './pl.js'
import { pt } from './pt.js'
import type { PackerWords } from './words.js'

export const LANGUAGES = { en, de, es, fr, it, nl, pl, pt } as const satisfies Record<string, PackerWords>
export type LanguageKey = keyof typeof LANGUAGES

const isKey = (key: string): key is LanguageKey => Object.hasOwn(LANGUAGES, key)

/** @param wanted what was chosen here before, then the browser's languages, such as 'de-AT' */
export function languageFor(wanted: readonly (string | null)[]): LanguageKey {
  for (const one of wanted) {
    const key = one?.slice(0, 2).toLowerCase() ?? ''
    if (isKey(key)) return key
  }
  return 'en'
}

/** @param name null: nobody is named */
export const withName = (sentence: string, name: string): string => sentence.replace('{name}', name)
