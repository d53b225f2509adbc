/** Cells into values. Nothing is guessed: what can be read in two ways is asked before, what cannot be read is said with its remedy. */
export type DateForm = 'iso' | 'dmy' | 'mdy'
export type DecimalMark = '.' | ','

export interface ValueFault {
  code: string
  problem: string
  remedy: string
}
export type Read<T> = { ok: true; value: T } | { ok: false; fault: ValueFault }

const good = <T>(value: T): Read<T> => ({ ok: true, value })
const bad = (code: string, problem: string, remedy: string): Read<never> => ({ ok: false, fault: { code, problem, remedy } })
const two = (text: string | undefined): string => (text ?? '').padStart(2, '0')

/** Invisible; before what a workbook holds as a number, so that its point is one whatever the texts beside it are written with. */
export const TRUE_NUMBER = '\u2060'

const SHEET_ERROR = /^(##+|#(REF|BEZUG|N\/A|NV|N\/D|NAME|NOM|VALUE|WERT|VALEUR|VALOR|DIV\/0|NUM|ZAHL|NOMBRE|NULL|NUL|SPILL|CALC)[!?]?)$/i
const SHORTENED = /^\d([.,]\d+)?E\+\d+$/

/** Values beginning so would be formulas in a spreadsheet; our own exports put an apostrophe before them. */
const RISKY = /^[=+\-@\t\r]/

/** @returns the text without the apostrophe that an export put before a would-be formula */
export function readText(cell: string, longest: number): Read<string> {
  const text = (cell.startsWith("'") && RISKY.test(cell.slice(1)) ? cell.slice(1) : cell).replace(TRUE_NUMBER, '').trim()
  if (SHEET_ERROR.test(text)) return bad('SHEET_ERROR', 'is an error of the spreadsheet.', 'Put its formula right, or empty the cell.')
  if (SHORTENED.test(text))
    return bad('SHORTENED', 'is a long number that the spreadsheet has shortened.', 'Format the column as text and type the whole number.')
  if (text.includes('\u0000')) return bad('NUL', 'has a character that cannot be kept.', 'Delete the cell and type it anew.')
  if (text.length > longest) return bad('TOO_LONG', `has ${text.length} characters.`, `Shorten it to ${longest}.`)
  return good(text)
}

export function readLabel(cell: string): Read<string> {
  const text = cell.trim()
  if (/^[A-Za-z0-9][A-Za-z0-9_-]{1,39}$/.test(text)) return good(text)
  return bad('LABEL', 'is no label code.', 'Use 2 to 40 letters, digits, - or _, beginning with a letter or digit.')
}

function isDay(year: number, month: number, day: number): boolean {
  const at = new Date(Date.UTC(year, month - 1, day))
  return at.getUTCFullYear() === year && at.getUTCMonth() === month - 1 && at.getUTCDate() === day
}

const ISO = /^(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]\d{1,2}:\d{2}.*)?$/
const YEAR_FIRST = /^(\d{4})[./](\d{1,2})[./](\d{1,2})(?:,? +\d{1,2}:\d{2}.*)?$/
export const YEAR_LAST = /^(\d{1,2})[./-](\d{1,2})[./-](\d{4})(?:,? +\d{1,2}:\d{2}.*)?$/

/** Can this be the date in the form asked? Year first needs no form. */
export function dayIn(form: DateForm, cell: string): string | null {
  const text = cell.trim()
  const first = ISO.exec(text) ?? YEAR_FIRST.exec(text)
  if (first) return isDay(Number(first[1]), Number(first[2]), Number(first[3])) ? `${first[1]}-${two(first[2])}-${two(first[3])}` : null
  const last = YEAR_LAST.exec(text)
  if (!last || form === 'iso') return null
  const [day, month] = form === 'dmy' ? [last[1], last[2]] : [last[2], last[1]]
  return isDay(Number(last[3]), Number(month), Number(day)) ? `${last[3]}-${two(month)}-${two(day)}` : null
}

const FORM_WORDS: Readonly<Record<DateForm, string>> = { iso: 'year-month-day', dmy: 'day-month-year', mdy: 'month-day-year' }

export function readDate(cell: string, form: DateForm): Read<string> {
  const text = cell.trim()
  if (/^\d{1,2}[./-]\d{1,2}[./-]\d{2}$/.test(text))
    return bad('TWO_DIGIT_YEAR', 'has a year of two digits.', 'Write the year with four digits, such as 2026.')
  const day = dayIn(form, text)
  if (day === null) {
    if (/^\d{5}$/.test(text))
      return bad('SERIAL_DATE', 'is a spreadsheet’s count of days.', 'Format the column as a date, or save it as text such as 2026-05-04.')
    if (ISO.test(text) || YEAR_FIRST.test(text) || YEAR_LAST.test(text))
      return bad('NO_SUCH_DAY', `is no day of the calendar, read as ${FORM_WORDS[form]}.`, 'Correct the day, or choose another date form.')
    return bad('NO_DATE', 'is no date.', 'Write it as 2026-05-04, or leave the cell empty where it is not known.')
  }
  if (day < '1950-01-01' || day > '2200-12-31') return bad('DATE_RANGE', 'lies too far away.', 'Correct the year.')
  return good(day)
}

/** A month as 2026-04 or 04/2026, or any day of it with the year first: nothing in it can be read in two ways. */
export function readMonth(cell: string): Read<string> {
  const text = cell.trim()
  const first = /^(\d{4})[-./](\d{1,2})(?:[-./](\d{1,2}))?$/.exec(text)
  const last = /^(\d{1,2})[-./](\d{4})$/.exec(text)
  const [year, month] = first ? [first[1], first[2]] : [last?.[2], last?.[1]]
  if (year === undefined || month === undefined || !isDay(Number(year), Number(month), Number(first?.[3] ?? 1)))
    return bad('NO_MONTH', 'is no month.', 'Write it as 2026-04.')
  if (year < '1950' || year > '2200') return bad('DATE_RANGE', 'lies too far away.', 'Correct the year.')
  return good(`${year}-${two(month)}`)
}

const TIME = /^(\d{1,2})[:h](\d{2})(?::\d{2}(?:[.,]\d+)?)?\s*(am|pm|a\.m\.|p\.m\.|uhr|h)?$/i

export function readTime(cell: string): Read<string> {
  const [, hour, minute, half] = TIME.exec(cell.trim()) ?? []
  const noon = half?.toLowerCase().startsWith('p') ? 12 : 0
  const twelve = noon === 12 || half?.toLowerCase().startsWith('a') === true
  const value = twelve ? (Number(hour) % 12) + noon : Number(hour)
  if (hour !== undefined && value < 24 && Number(minute) < 60 && !(twelve && (hour === '0' || Number(hour) > 12)))
    return good(`${two(String(value))}:${minute}`)
  return bad('NO_TIME', 'is no time of day.', 'Write it as 06:30.')
}

/** The time that stands behind the day in one cell; midnight is how programs write that there is none. */
export function readTimeOfMoment(cell: string): Read<string | null> {
  const [, time] = /^[\d./-]+(?:T|,? +)(\d{1,2}:\d{2}.*)$/.exec(cell.trim()) ?? []
  if (time === undefined) return good(null)
  const read = readTime(time)
  if (!read.ok) return bad('NO_TIME', 'has a time that cannot be read.', 'Write it as 2026-05-04 06:30, by the clocks of the warehouse.')
  return good(read.value === '00:00' ? null : read.value)
}

/** '1234', '1.234,5' with a decimal comma, '1,234.5' with a point; blanks may group too. Nothing else. */
export function numberIn(mark: DecimalMark, cell: string): number | null {
  if (cell.startsWith(TRUE_NUMBER)) return numberIn('.', cell.slice(1))
  const text = cell.trim().replace(/[\u00a0\u202f ']/g, '')
  const group = mark === '.' ? ',' : '.'
  const shape = mark === '.' ? /^-?(\d+|\d{1,3}(,\d{3})+)(\.\d+)?(e[+-]?\d+)?$/i : /^-?(\d+|\d{1,3}(\.\d{3})+)(,\d+)?(e[+-]?\d+)?$/i
  if (!shape.test(text)) return null
  const value = Number(text.replaceAll(group, '').replace(',', '.'))
  return Number.isFinite(value) ? value : null
}

export interface NumberLimits {
  least?: number | undefined
  most?: number | undefined
  whole?: true | undefined
}

export function readNumber(cell: string, mark: DecimalMark, { least, most, whole }: NumberLimits): Read<number> {
  const value = numberIn(mark, cell)
  if (value === null) {
    const other = numberIn(mark === '.' ? ',' : '.', cell)
    const words = mark === '.' ? 'point' : 'comma'
    return other === null
      ? bad('NO_NUMBER', 'is no number.', 'Write digits only, without a unit.')
      : bad('DECIMAL_MARK', `is no number with a decimal ${words}.`, `Use a decimal ${words} throughout, or choose the other mark.`)
  }
  if (least !== undefined && value < least) return bad('TOO_SMALL', `is below ${least}.`, `Give at least ${least}.`)
  if (most !== undefined && value > most) return bad('TOO_LARGE', `is above ${most}.`, `Give at most ${most}.`)
  if (whole && !Number.isInteger(value)) return bad('NOT_WHOLE', 'is no whole number.', 'Round it.')
  return good(value)
}

const plain = (text: string): string =>
  text
    .trim()
    .toLowerCase()
    .replace(/[_\s]+/g, ' ')

type Choices = Readonly<Record<string, readonly string[]>>
const wordsOf = new WeakMap<Choices, ReadonlyMap<string, string>>()

/** Value by word; where two have a word in common the first keeps it. */
function valuesOf(choices: Choices): ReadonlyMap<string, string> {
  const known = wordsOf.get(choices)
  if (known) return known
  const values = new Map<string, string>()
  for (const [value, words] of Object.entries(choices))
    for (const word of [value, ...words].map(plain)) if (!values.has(word)) values.set(word, value)
  wordsOf.set(choices, values)
  return values
}

export function readChoice(cell: string, choices: Choices): Read<string> {
  const value = valuesOf(choices).get(plain(cell))
  if (value !== undefined) return good(value)
  const offered = Object.values(choices).map(([first]) => `‘${first}’`)
  return bad('NO_CHOICE', 'is none of the words that go here.', `Write ${offered.slice(0, -1).join(', ')} or ${offered.at(-1)}.`)
}

export function readZone(cell: string): Read<string> {
  const zone = cell.trim()
  try {
    new Intl.DateTimeFormat('en', { timeZone: zone })
    if (/^[A-Z][A-Za-z0-9_+-]*(\/[A-Za-z0-9_+-]+)+$/.test(zone) || zone === 'UTC') return good(zone)
  } catch {
    // said below, as for an offset
  }
  return bad('NO_ZONE', 'is no time zone.', 'Write a name such as Europe/Berlin, no offset.')
}
