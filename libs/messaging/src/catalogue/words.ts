import type { Units } from '@tapewarden/shared'
import { ENGLISH, type MessageKey, type Sentences } from './english.js'
import { GERMAN } from './german.js'
import { formatMessage, kept, type Values } from './message-format.js'

export type Language = 'en' | 'de'
export const LANGUAGES: readonly Language[] = ['en', 'de']
export const SENTENCES: Readonly<Record<Language, Sentences>> = { en: ENGLISH, de: GERMAN }

/** The language that stands nearest to what a person asked for ('de-AT' is German); English where we have none. */
export function languageOf(asked: string): Language {
  return /^de\b/i.test(asked) ? 'de' : 'en'
}

/**
 * Safety lines appear only in checked translations. The German wording has not been checked by a person who
 * may answer for it, so German mails carry the English line.
 */
const SAFETY_LINES: Readonly<Partial<Record<Language, string>>> & { readonly en: string } = {
  en: 'Do not use until checked, or as your site’s rules say.',
}

function localeOf(language: Language, units: Units): string {
  if (language === 'de') return 'de-DE'
  return units === 'us' ? 'en-US' : 'en-GB'
}

/** Making a formatter costs more than a hundred uses of it. */
const DATES = new Map<string, Intl.DateTimeFormat>()
/** The same few days stand in the mails of a morning; emptied when it is full. */
const DAYS = new Map<string, string>()
const MOST_DAYS = 5000
const LISTS = new Map<string, Intl.ListFormat>()

/** Sentences, dates and lists in one person's language. Dates are local 'YYYY-MM-DD' and are never shifted by a zone. */
export class Words {
  readonly locale: string

  constructor(
    readonly language: Language,
    readonly units: Units,
    /** The local day of the mail: dates of another year carry their year. */
    private readonly today: string,
  ) {
    this.locale = localeOf(language, units)
  }

  say(key: MessageKey, values: Values = {}): string {
    return formatMessage(this.locale, SENTENCES[this.language][key], values)
  }

  safetyLine(): { text: string; language: Language } {
    const own = SAFETY_LINES[this.language]
    return own ? { text: own, language: this.language } : { text: SAFETY_LINES.en, language: 'en' }
  }

  /** '12 May', '12 May 2027', 'May 12', '12. Mai'. */
  date(day: string): string {
    return this.format(day, { day: 'numeric', month: 'long', ...(day.slice(0, 4) === this.today.slice(0, 4) ? {} : { year: 'numeric' }) })
  }

  /** 'Tuesday 3 March'. */
  weekday(day: string): string {
    return this.format(day, { weekday: 'long', day: 'numeric', month: 'long' })
  }

  /** 'May 2026' of '2026-05'. */
  month(month: string): string {
    return this.format(`${month}-01`, { month: 'long', year: 'numeric' })
  }

  list(items: readonly string[]): string {
    return kept(LISTS, this.locale, () => new Intl.ListFormat(this.locale, { type: 'conjunction' })).format(items)
  }

  private format(day: string, options: Intl.DateTimeFormatOptions): string {
    const key = `${this.locale} ${Object.keys(options).join(' ')} ${options.weekday ?? ''}`
    if (DAYS.size >= MOST_DAYS) DAYS.clear()
    return kept(DAYS, `${key} ${day}`, () =>
      kept(DATES, key, () => new Intl.DateTimeFormat(this.locale, { ...options, timeZone: 'UTC' })).format(new Date(`${day}T00:00:00Z`)),
    )
  }
}
