/** A piece of evidence in words: how much, of what, when. Pure. */
import type { Answer } from '../client/api.js'
import { sayDay, sayTick, sayWord } from '../ui/format.js'

type Item = Pick<Answer<'listEvidence'>['items'][number], 'kind' | 'amount' | 'fromDate' | 'toDate' | 'detail'>

const AMOUNT_DIGITS = 3
const RUNS: Readonly<Record<string, string>> = { all_day: 'all day', some_hours: 'some hours', seldom: 'seldom' }

/** 'counter at 2 500 on 6 Nov', '12.5 rolls from 1 Oct to 31 Oct', 'runs some hours from 1 Oct to 31 Oct'. */
export function sayEvidence({ kind, amount, fromDate, toDate, detail }: Item, today: string): string {
  const many = amount === null ? '' : sayTick(amount, AMOUNT_DIGITS)
  const when = fromDate === toDate ? `on ${sayDay(fromDate, today)}` : `from ${sayDay(fromDate, today)} to ${sayDay(toDate, today)}`
  const words: Readonly<Record<string, string>> = {
    counter_reading: `counter at ${many}`,
    counter_replaced: `new counter at ${many}`,
    strips_day: `${many} strips`,
    cartons_day: `${many} cartons`,
    rolls: `${many} rolls`,
    monthly_tap: `runs ${RUNS[String(detail.runs)] ?? 'not known'}`,
  }
  return `${words[kind] ?? sayWord(kind)} ${when}`
}
