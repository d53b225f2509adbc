import type { Words } from '../catalogue/words.js'
import type { CareLine, ListItem } from './model.js'
import { byMachine } from './sections.js'

/** One visible line: names and notes may hold anything, and must not be able to look like lines of ours. */
export function oneLine(text: string): string {
  return text
    .replace(/[\p{Cc}\u2028\u2029]+/gu, ' ')
    .replace(/[\u202a-\u202e\u2066-\u2069]/g, '')
    .trim()
}

export function place(words: Words, stationName: string | null): string {
  return stationName === null ? '' : words.say('line.place', { station: oneLine(stationName) })
}

function dueSentence(words: Words, line: CareLine, today: string): string {
  const { dueOn, earlyOn, lateOn } = line
  if (dueOn < today) return words.say('when.was_due', { date: words.date(dueOn) })
  if (earlyOn !== null && lateOn !== null && earlyOn < lateOn && earlyOn <= dueOn && dueOn <= lateOn) {
    const values = { date: words.date(dueOn), late: words.date(lateOn) }
    // A day that has passed says nothing any more.
    return earlyOn < today ? words.say('when.due_from_now', values) : words.say('when.due_range', { ...values, early: words.date(earlyOn) })
  }
  return words.say('when.due', { date: words.date(dueOn) })
}

/** A limit may come before the first day on which it counts as late. */
function lateSentence(words: Words, line: CareLine, today: string): string {
  return line.lateFrom === null || line.lateFrom > today
    ? words.say(line.dueOn < today ? 'when.was_due' : 'when.due', { date: words.date(line.dueOn) })
    : words.say('when.late', { since: words.date(line.lateFrom), date: words.date(line.dueOn) })
}

/** Its limit is still to come, but closures and peaks leave no day before it. */
export const noDayLeft = ({ doBy, hardLimitOn }: CareLine, today: string): boolean =>
  doBy !== null && doBy < today && hardLimitOn !== null && hardLimitOn >= today

function limitSentence(words: Words, line: CareLine, today: string): string | null {
  const { hardLimitOn, doBy } = line
  if (hardLimitOn === null) return null
  if (noDayLeft(line, today)) return words.say('when.no_day_left', { limit: words.date(hardLimitOn) })
  if (doBy !== null && doBy >= today && doBy < hardLimitOn)
    return words.say('when.do_by', { date: words.date(doBy), limit: words.date(hardLimitOn) })
  return words.say(hardLimitOn < today ? 'when.past_hard_limit' : 'when.hard_limit', { limit: words.date(hardLimitOn) })
}

function sentences(words: Words, line: CareLine, today: string): (string | null)[] {
  switch (line.stage) {
    case 'coming_due':
    case 'due':
      return [dueSentence(words, line, today)]
    case 'earlier_than_said':
      return [words.say('when.earlier', { date: words.date(line.dueOn) })]
    case 'first_look_missed':
      return [words.say('when.first_look_missed', { date: words.date(line.dueOn) })]
    case 'late':
    case 'passed_on_1':
    case 'passed_on_2':
    case 'passed_on_3':
    case 'hard_limit_tomorrow':
    case 'past_hard_limit':
      return [lateSentence(words, line, today), limitSentence(words, line, today)]
    case 'safety_finding':
      return [words.say('when.found'), words.say('when.due', { date: words.date(line.dueOn) })]
    case 'month_list':
    case 'month_last_week':
      return []
  }
}

/** Rule 7: from the day after the nominal date; and whatever was found unsafe. */
function mustNotBeUsed(line: CareLine, today: string): boolean {
  return line.stage === 'safety_finding' || (line.safetyCheck && today > line.nominalOn)
}

export function careItem(words: Words, line: CareLine, today: string): ListItem {
  const whose = line.forName === null ? null : words.say('line.for', { name: oneLine(line.forName) })
  const when = [...sentences(words, line, today), whose].filter((sentence) => sentence !== null).join(' ')
  const text = words
    .say('line.care', {
      place: place(words, line.stationName),
      label: oneLine(line.labelCode),
      task: oneLine(line.taskName),
      when,
    })
    .trim()
  return { text, strong: mustNotBeUsed(line, today) ? words.safetyLine() : undefined }
}

interface MonthMachine {
  place: string
  label: string
  tasks: string
  minutes: number
}

function monthMachines(words: Words, lines: readonly CareLine[]): MonthMachine[] {
  return byMachine(lines).map(({ labelCode, stationName, lines: own }) => ({
    place: place(words, stationName),
    label: oneLine(labelCode),
    tasks: own.map(({ taskName }) => oneLine(taskName)).join('; '),
    minutes: own.reduce((sum, { minutes }) => sum + minutes, 0),
  }))
}

function commonest(machines: readonly MonthMachine[]): MonthMachine | null {
  const times = new Map<string, number>()
  for (const { tasks } of machines) times.set(tasks, (times.get(tasks) ?? 0) + 1)
  const [tasks, count] = [...times].reduce((best, one) => (one[1] > best[1] ? one : best), ['', 1])
  return count > 1 ? (machines.find((machine) => machine.tasks === tasks) ?? null) : null
}

/** One line a machine, in walking order; what is the same at most of them is said once. */
export function monthList(words: Words, lines: readonly CareLine[]): { common: string | null; items: ListItem[] } {
  const machines = monthMachines(words, lines)
  const usual = commonest(machines)
  return {
    common: usual && words.say('line.month_each', { tasks: usual.tasks, minutes: usual.minutes }),
    items: machines.map((machine) => ({
      text: words.say(machine.tasks === usual?.tasks ? 'line.month_same' : 'line.month', { ...machine }),
    })),
  }
}
