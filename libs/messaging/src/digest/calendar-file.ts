import { ICalCalendar, ICalCalendarMethod, ICalEventStatus, ICalEventTransparency } from 'ical-generator'
import { languageOf, Words } from '../catalogue/words.js'
import { careItem, oneLine } from './lines.js'
import type { MailInput } from './model.js'
import { gravestOnly, sectionOf } from './sections.js'

function nextDay(day: string): string {
  return new Date(Date.parse(`${day}T00:00:00Z`) + 86_400_000).toISOString().slice(0, 10)
}

/** The library reads a Date's own (UTC) parts when no zone is named and the process runs in UTC; all-day events carry a date only. */
function allDay(day: string): Date {
  return new Date(`${day}T00:00:00Z`)
}

/** RFC 5545: one whole-day event an occurrence, under a UID that stays the same in every mail. */
export function writeCalendarFile(input: MailInput): string | null {
  const words = new Words(languageOf(input.person.language), input.person.units, input.today)
  const care = gravestOnly([...input.care, ...input.maybeSaid])
  const dated = care.filter(({ stage }) => !sectionOf(stage).startsWith('month_'))
  if (dated.length === 0) return null
  const calendar = new ICalCalendar({
    name: words.say('calendar.name', { warehouse: oneLine(input.warehouse.name) }),
    prodId: { company: 'Tapewarden', product: 'mail', language: words.language.toUpperCase() },
    method: ICalCalendarMethod.PUBLISH,
  })
  for (const line of dated) {
    const { text } = careItem(words, line, input.today)
    calendar.createEvent({
      id: `occurrence-${line.occurrenceId}@tapewarden`,
      sequence: line.version,
      stamp: input.now,
      start: allDay(line.dueOn),
      end: allDay(nextDay(line.dueOn)),
      allDay: true,
      summary: words.say('calendar.summary', { label: oneLine(line.labelCode), task: oneLine(line.taskName) }),
      description: text,
      ...(line.stationName === null ? {} : { location: oneLine(`${input.warehouse.name}, ${line.stationName}`) }),
      status: ICalEventStatus.CONFIRMED,
      transparency: ICalEventTransparency.TRANSPARENT,
    })
  }
  return calendar.toString()
}
