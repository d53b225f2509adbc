import type { MessageKey } from '../catalogue/english.js'
import { languageOf, Words } from '../catalogue/words.js'
import { noDayLeft, careItem, monthList, oneLine, place } from './lines.js'
import type { Block, CareLine, ListItem, MailDocument, MailInput, OrderLine } from './model.js'
import { byMachine, CARE_SECTIONS, gravestOnly, linesIn, MOST_LINES, shownWithDay } from './sections.js'

interface Prepared {
  words: Words
  input: MailInput
  care: readonly CareLine[]
  maybeSaid: readonly CareLine[]
}

function prepare(input: MailInput): Prepared {
  const care = gravestOnly(input.care)
  const said = new Set(care.map(({ occurrenceId }) => occurrenceId))
  return {
    words: new Words(languageOf(input.person.language), input.person.units, input.today),
    input,
    care,
    maybeSaid: gravestOnly(input.maybeSaid).filter(({ occurrenceId }) => !said.has(occurrenceId)),
  }
}

function earliestOrder(input: MailInput): string {
  return input.parts.reduce((earliest, { orderBy }) => (orderBy < earliest ? orderBy : earliest), input.parts[0]?.orderBy ?? input.today)
}

/** 'Numbers first': what is late, passed on, due …, each with its count; the line of the subject and of the first sentence. */
function counts({ words, input, care, maybeSaid }: Prepared): string[] {
  const found: [MessageKey, number][] = [
    ...CARE_SECTIONS.map((section): [MessageKey, number] => [`count.${section}`, linesIn(care, section).length]),
    ['count.work_orders', input.orders?.length ?? 0],
    ['count.month_list', byMachine(linesIn(care, 'month_list')).length],
    ['count.month_left', byMachine(linesIn(care, 'month_left')).length],
    ['count.parts', input.parts.length],
    ['count.maybe_said', maybeSaid.length + (input.maybeOrders?.length ?? 0)],
  ]
  const said = found
    .filter(([, count]) => count > 0)
    .map(([key, count]) => words.say(key, { count, date: words.date(earliestOrder(input)) }))
  return said.length > 0 ? said : [words.say('count.nothing')]
}

function subject(prepared: Prepared): string {
  const { words, input, care } = prepared
  const warehouse = oneLine(input.warehouse.name)
  if (input.kind === 'hand_over') return words.say('subject.hand_over', { warehouse, name: oneLine(input.handOver?.name ?? '') })
  if (input.kind === 'safety_finding')
    return words.say('subject.safety_finding', { warehouse, count: byMachine(care).length, label: oneLine(care[0]?.labelCode ?? '') })
  if (input.kind === 'hard_limit') {
    const { left, day } = limitOf(prepared)
    const key = care.length > 0 && left.length === 0 ? 'subject.no_day_left' : 'subject.hard_limit'
    return words.say(key, { warehouse, count: care.length, date: words.date(day) })
  }
  return words.say('subject.digest', { warehouse, date: words.weekday(input.today), parts: counts(prepared).slice(0, 3).join(', ') })
}

/** Lines of which a day is left, and the first day by which one of them must be done; where none is left, the first limit of all. */
function limitOf({ input, care }: Prepared): { left: readonly CareLine[]; day: string } {
  const left = care.filter((line) => !noDayLeft(line, input.today))
  const days = left.length > 0 ? left.map(({ doBy, hardLimitOn }) => doBy ?? hardLimitOn) : care.map(({ hardLimitOn }) => hardLimitOn)
  return { left, day: days.filter((day) => day !== null).toSorted()[0] ?? input.today }
}

function lead(prepared: Prepared): string[] {
  const { words, input, care } = prepared
  const warehouse = oneLine(input.warehouse.name)
  const sentences: string[] = []
  if (input.handOver)
    sentences.push(words.say('lead.hand_over', { warehouse, name: oneLine(input.handOver.name), count: input.handOver.machines }))
  if (input.kind === 'safety_finding') sentences.push(words.say('lead.safety_finding', { warehouse, count: byMachine(care).length }))
  if (input.kind === 'hard_limit') {
    const { left, day } = limitOf(prepared)
    const none = care.length - left.length
    if (left.length > 0) sentences.push(words.say('lead.hard_limit', { warehouse, count: left.length, date: words.date(day) }))
    if (none > 0) sentences.push(words.say('lead.no_day_left', { warehouse, count: none }))
  }
  if (input.kind === 'digest' || input.kind === 'hand_over')
    sentences.push(words.say('lead', { warehouse, date: words.weekday(input.today), parts: words.list(counts(prepared)) }))
  return sentences
}

function careBlocks({ words, input }: Prepared, heading: string, lines: readonly CareLine[]): Block[] {
  if (lines.length === 0) return []
  const shown = lines.slice(0, MOST_LINES)
  const blocks: Block[] = [
    { kind: 'heading', text: heading },
    { kind: 'list', items: shown.map((line) => careItem(words, line, input.today)) },
  ]
  if (lines.length > shown.length) blocks.push({ kind: 'paragraph', text: words.say('more', { count: lines.length - shown.length }) })
  return blocks
}

function roundLink({ words, input }: Prepared): Block[] {
  if (!input.round) return []
  return [
    { kind: 'link', text: words.say('line.month_link', { month: words.month(input.round.month) }), url: input.round.url },
    { kind: 'small', text: words.say('note.month_link', { name: oneLine(input.person.name), date: words.date(input.round.endsOn) }) },
  ]
}

function monthBlocks(prepared: Prepared): Block[] {
  const { words, care } = prepared
  const list = linesIn(care, 'month_list')
  const left = linesIn(care, 'month_left')
  const blocks: Block[] = []
  if (list.length > 0) {
    const { common, items } = monthList(words, list)
    blocks.push({ kind: 'heading', text: words.say('section.month_list') })
    if (common !== null) blocks.push({ kind: 'paragraph', text: common })
    blocks.push({ kind: 'list', items })
  }
  if (left.length > 0)
    blocks.push(
      { kind: 'heading', text: words.say('section.month_left') },
      { kind: 'paragraph', text: words.say('line.month_left', { count: byMachine(left).length }) },
    )
  return blocks.length > 0 ? [...blocks, ...roundLink(prepared)] : []
}

function orderItems({ words }: Prepared, orders: readonly OrderLine[]): ListItem[] {
  return orders.slice(0, MOST_LINES).map(({ number, labelCode, stationName, tasks, plannedOn }) => {
    const values = {
      place: place(words, stationName),
      label: oneLine(labelCode),
      number: String(number),
      tasks: tasks.map(oneLine).join('; '),
    }
    return {
      text:
        plannedOn === null ? words.say('line.order', values) : words.say('line.order_planned', { ...values, date: words.date(plannedOn) }),
    }
  })
}

function orderBlocks(prepared: Prepared): Block[] {
  const { words, input } = prepared
  const orders = input.orders ?? []
  if (orders.length === 0) return []
  const items = orderItems(prepared, orders)
  const blocks: Block[] = [
    { kind: 'heading', text: words.say('section.work_orders') },
    { kind: 'list', items },
  ]
  if (orders.length > items.length) blocks.push({ kind: 'paragraph', text: words.say('more', { count: orders.length - items.length }) })
  return blocks
}

function partBlocks({ words, input }: Prepared): Block[] {
  if (input.parts.length === 0) return []
  const items = input.parts.map(({ name, stockCode, quantity, orderBy }) => ({
    text: words.say('line.part', { count: quantity, name: oneLine(name), code: oneLine(stockCode), date: words.date(orderBy) }),
  }))
  return [
    { kind: 'heading', text: words.say('section.parts') },
    ...(input.partsMaybeSaid ? [{ kind: 'paragraph', text: words.say('note.maybe_said') } as const] : []),
    { kind: 'list', items },
  ]
}

function maybeBlocks(prepared: Prepared): Block[] {
  const { words, input, maybeSaid } = prepared
  const orders = orderItems(prepared, input.maybeOrders ?? [])
  if (maybeSaid.length + orders.length === 0) return []
  const heading = words.say('section.maybe_said')
  return [
    { kind: 'heading', text: heading },
    { kind: 'paragraph', text: words.say('note.maybe_said') },
    ...careBlocks(prepared, heading, maybeSaid).slice(1),
    ...(orders.length > 0 ? [{ kind: 'list', items: orders } as const] : []),
  ]
}

function footer({ words, input }: Prepared): Block[] {
  const blocks: Block[] = [{ kind: 'link', text: words.say('link.desk'), url: input.deskUrl }]
  if (shownWithDay(input).length > 0) blocks.push({ kind: 'small', text: words.say('footer.calendar') })
  blocks.push({ kind: 'small', text: words.say('footer.why', { warehouse: oneLine(input.warehouse.name) }) })
  if (input.unsubscribeUrl) blocks.push({ kind: 'link', text: words.say('footer.unsubscribe'), url: input.unsubscribeUrl })
  return blocks
}

/** What a mail says, in its reader's language and order: late before passed on before due before coming due. */
export function composeDocument(input: MailInput): MailDocument {
  const prepared = prepare(input)
  const { words, care } = prepared
  return {
    language: words.language,
    subject: subject(prepared),
    blocks: [
      { kind: 'paragraph', text: words.say('greeting', { name: oneLine(input.person.name) }) },
      ...lead(prepared).map((text): Block => ({ kind: 'paragraph', text })),
      ...CARE_SECTIONS.flatMap((section) => careBlocks(prepared, words.say(`section.${section}`), linesIn(care, section))),
      ...orderBlocks(prepared),
      ...monthBlocks(prepared),
      ...partBlocks(prepared),
      ...maybeBlocks(prepared),
      ...footer(prepared),
    ],
  }
}
