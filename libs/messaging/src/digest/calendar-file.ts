import { writeCalendar } from '../calendar/icalendar.js'
import { languageOf, Words } from '../catalogue/words.js'
import { careItem, oneLine } from './lines.js'
import type { MailInput } from './model.js'
import { shownWithDay } from './sections.js'

/** One whole-day event an occurrence, under a UID that stays the same in every mail. null where nothing has a day. */
export function writeCalendarFile(input: MailInput): string | null {
  const words = new Words(languageOf(input.person.language), input.person.units, input.today)
  const lines = shownWithDay(input)
  if (lines.length === 0) return null
  const warehouse = oneLine(input.warehouse.name)
  return writeCalendar(
    { name: words.say('calendar.name', { warehouse }), language: words.language },
    lines.map((line) => ({
      uid: `occurrence-${line.occurrenceId}@tapewarden`,
      sequence: line.version,
      stamp: input.now,
      on: line.dueOn,
      summary: words.say('calendar.summary', { label: oneLine(line.labelCode), task: oneLine(line.taskName) }),
      description: careItem(words, line, input.today).text,
      location: line.stationName === null ? null : `${warehouse}, ${oneLine(line.stationName)}`,
    })),
  )
}
