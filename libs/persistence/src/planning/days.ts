import type { Day } from '@tapewarden/scheduling'

const DAY_MS = 86_400_000
const texts = new Map<Day, string>()

/** '2026-03-02' of a day number; the few thousand days of a pass are written once each. */
export function dayText(day: Day): string {
  let text = texts.get(day)
  if (text === undefined) {
    text = new Date(day * DAY_MS).toISOString().slice(0, 10)
    if (texts.size > 50_000) texts.clear()
    texts.set(day, text)
  }
  return text
}

export function dayTextOrNull(day: Day | null): string | null {
  return day === null ? null : dayText(day)
}

const numbers = new Map<string, Day>()

/** Day number of '2026-03-02'. */
export function dayNumber(text: string): Day {
  let day = numbers.get(text)
  if (day === undefined) {
    day = Date.parse(`${text}T00:00:00Z`) / DAY_MS
    if (numbers.size > 50_000) numbers.clear()
    numbers.set(text, day)
  }
  return day
}

export function dayNumberOrNull(text: string | null): Day | null {
  return text === null ? null : dayNumber(text)
}
