/** What was typed on site in plain words; what a person wrote themselves stands apart, to be quoted. Pure. */
import { type ParsedWorkEntry, workEntrySchema } from '@tapewarden/shared'
import type { Answer } from '../client/api.js'
import { sayCount, sayLength, sayMeasured, sayNumber, sayTick, sayWord } from '../ui/format.js'
import { lengthInMm } from '../ui/lengths.js'

type Sheet = Pick<Answer<'getWorkOrder'>, 'tasks'>
type Task = Sheet['tasks'][number]
export type Entry = Answer<'getWorkOrder'>['entries'][number]
type Units = 'si' | 'us'
type Of<Kind extends ParsedWorkEntry['kind']> = Extract<ParsedWorkEntry, { kind: Kind }>
/** words: as the person typed them; empty where they typed none. */
export interface Told {
  said: string
  words: string
}

const tell = (said: string, words = ''): Told => ({ said, words })

/** How a step was answered: a tick, a yes, one of its choices, or in the person's own words. */
export function sayAnswer(step: Pick<Task['steps'][number], 'answer'> | undefined, answer: string | number | boolean): Told {
  if (typeof answer === 'number') return tell(sayTick(answer, 2))
  if (typeof answer === 'string') return step?.answer === 'choice' ? tell(answer) : tell('', answer)
  if (step?.answer === 'yes_no') return tell(answer ? 'yes' : 'no')
  return tell(answer ? 'ticked' : 'not ticked')
}

const taskOf = (sheet: Sheet, taskId: string): Task | undefined => sheet.tasks.find(({ id }) => id === taskId)
const nameOf = (sheet: Sheet, taskId: string): string => taskOf(sheet, taskId)?.name ?? 'a task that is no longer on it'

function answered(entry: Of<'answer_step'>, sheet: Sheet): Told {
  const step = taskOf(sheet, entry.taskId)?.steps.find(({ key }) => key === entry.stepKey)
  const { said, words } = sayAnswer(step, entry.answer)
  return tell(`${nameOf(sheet, entry.taskId)}, ‘${step?.text ?? sayWord(entry.stepKey)}’${said ? ` ${said}` : ''}`, words)
}

function measured(entry: Of<'measure'>, sheet: Sheet, units: Units): Told {
  const name =
    taskOf(sheet, entry.taskId)?.measurements.find(({ key }) => key === entry.measurementKey)?.name ?? sayWord(entry.measurementKey)
  const value = entry.unit === 'in' ? sayLength(lengthInMm(entry.value, 'in'), units) : sayMeasured(entry.value, entry.unit, units)
  return tell(`measured ${name}: ${value}, ${sayWord(entry.whenTaken)}${entry.instead ? ', instead of what was typed before' : ''}`)
}

function found(entry: Of<'finding'>, sheet: Sheet): Told {
  const task =
    entry.taskKey === undefined ? '' : (sheet.tasks.find(({ taskKey }) => taskKey === entry.taskKey)?.name ?? sayWord(entry.taskKey))
  const when = entry.withinDays === undefined ? '' : ` within ${sayCount(entry.withinDays, 'day', 'days')}`
  const asks = task === '' && when === '' ? '' : `, which asks for ${task === '' ? 'work' : `‘${task}’`}${when}`
  return tell(`${entry.safety ? 'found, for safety' : 'found'}${asks}`, entry.text)
}

function done(entry: Of<'task_done'>, sheet: Sheet): Told {
  const removed = entry.removalReason === undefined ? '' : `; the old part was taken out: ${REMOVED[entry.removalReason]}`
  return tell(`${nameOf(sheet, entry.taskId)}: done${removed}${entry.fittedComponentId ? '; one from the books was put in' : ''}`)
}
const REMOVED = { worn: 'worn', broken: 'broken', planned: 'as planned', unknown: 'reason not known' } as const

function checked(entry: Of<'function_check'>, units: Units): Told {
  const strips = entry.strips.map(({ askedMm, measuredMm }) => `${sayLength(askedMm, units)} came out as ${sayLength(measuredMm, units)}`)
  const tape = entry.tape === 'unknown' ? 'tape of a kind not noted' : `${entry.tape} tape`
  return tell(
    [
      `function check with ${tape}${ROLLS[entry.roll]}: ${strips.join(', ') || 'no strip was cut'}`,
      `covers ${entry.coversOn ? 'on' : 'not on'}`,
      `cord ${entry.cordLookedAt ? 'looked at' : 'not looked at'}`,
      ...(entry.wetStripTore === null ? [] : [`the wet strip ${entry.wetStripTore ? 'tore the paper' : 'did not tear the paper'}`]),
    ].join('; '),
  )
}
const ROLLS = { full: ', a full roll', half: ', half a roll', end: ', the end of a roll', not_noted: '' } as const
const WAITS = { part: 'a part', access: 'access', second_person: 'a second person' } as const

function sayParsed(entry: ParsedWorkEntry, sheet: Sheet, units: Units, partName: string | null): Told {
  switch (entry.kind) {
    case 'accept':
      return tell('accepted it')
    case 'acknowledge_cautions':
      return tell(`ticked the cautions: ‘${entry.statement}’`)
    case 'start':
      return tell('began')
    case 'wait':
      return tell(`waits for ${WAITS[entry.waitingFor]}`, entry.note)
    case 'resume':
      return tell('went on')
    case 'answer_step':
      return answered(entry, sheet)
    case 'measure':
      return measured(entry, sheet, units)
    case 'use_part':
      return tell(`used ${sayNumber(entry.quantity)} × ${partName ?? 'a part that is no longer known'}`)
    case 'put_back_part':
      return tell(`put back ${sayNumber(entry.quantity)} × ${partName ?? 'a part that is no longer known'}`)
    case 'finding':
      return found(entry, sheet)
    case 'task_done':
      return done(entry, sheet)
    case 'task_not_done':
      return tell(`${nameOf(sheet, entry.taskId)}: not done`, entry.reason)
    case 'task_again':
      return tell(`${nameOf(sheet, entry.taskId)}: to be done after all`)
    case 'function_check':
      return checked(entry, units)
    case 'tag_out':
      return tell('tagged the machine out', entry.reason)
    case 'note':
      return tell('wrote', entry.text)
    case 'hand_back':
      return tell('handed it back', entry.reason)
    case 'finish':
      return tell(`finished, after ${sayCount(entry.minutesWorked, 'minute', 'minutes')} of work`, entry.note)
  }
}

/** What an older version wrote and this one cannot read is named by its kind alone. */
export function sayEntry({ id, kind, madeAt, content, partName }: Entry, sheet: Sheet, units: Units): Told {
  const parsed = workEntrySchema.safeParse({ id, kind, madeAt, ...content })
  return parsed.success ? sayParsed(parsed.data, sheet, units, partName) : tell(sayWord(kind))
}
