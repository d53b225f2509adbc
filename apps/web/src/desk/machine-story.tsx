/** One machine's time line: where it stood, what care it had, when it stood still, which parts came out. */
import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { type Answer, call } from '../client/api.js'
import { readPages } from '../client/pages.js'
import { type Lane, TimeLine } from '../ui/time-line.js'
import { sayCount, sayWord } from '../ui/format.js'

type Detail = Answer<'getMachine'>
const MONTHS_SHOWN = 24

export function Story({ machine }: { machine: Detail }): ReactNode {
  const params = { machineId: machine.id }
  const today = machine.today ?? machine.statusSince
  const from = monthsBefore(today, MONTHS_SHOWN)
  const records = useQuery({
    queryKey: ['machine', machine.id, 'records', 'since', from],
    queryFn: () =>
      readPages(
        (cursor) => call('machineServiceRecords', { params, query: { ...cursor, limit: 200 } }),
        ({ doneOn }) => doneOn >= from,
      ),
  })
  const parts = useQuery({ queryKey: ['machine', machine.id, 'components'], queryFn: () => call('machineComponents', { params }) })
  const stops = useQuery({
    queryKey: ['machine', machine.id, 'stoppages', 'since', from],
    queryFn: () => readPages((cursor) => call('listStoppages', { query: { ...cursor, machineId: machine.id, from, limit: 200 } })),
  })
  const care = records.data ?? []
  const removed = (parts.data?.items ?? []).filter(({ toDate }) => toDate !== null)
  const stoppages = stops.data ?? []
  const lanes: Lane[] = [
    {
      name: 'stood at',
      spans: machine.placements.map(({ warehouse, station, fromAt, toAt }) => ({
        from: fromAt.slice(0, 10),
        to: toAt?.slice(0, 10) ?? today,
        words: station ? `${station.line} ${station.name}` : warehouse.name,
      })),
      marks: [],
    },
    {
      name: 'not in service',
      spans: machine.statusPeriods
        .filter(({ status }) => status !== 'in_service')
        .map(({ status, fromAt, toAt }) => ({ from: fromAt.slice(0, 10), to: toAt?.slice(0, 10) ?? today, words: sayWord(status) })),
      marks: [],
    },
    { name: 'care done', spans: [], marks: care.map(({ doneOn, taskName }) => ({ on: doneOn, words: taskName })) },
    {
      name: 'stood still',
      spans: stoppages.map(({ failedAt, backInUseAt, failureMode }) => ({
        from: failedAt.slice(0, 10),
        to: backInUseAt?.slice(0, 10) ?? today,
        words: sayWord(failureMode),
      })),
      marks: [],
    },
    {
      name: 'parts out',
      spans: [],
      marks: removed.map(({ toDate, componentType }) => ({ on: toDate ?? today, words: `${componentType.name} removed` })),
    },
  ]
  return (
    <section aria-labelledby="story">
      <h2 id="story">The last two years</h2>
      <p>
        {sayCount(care.length, 'piece of care is', 'pieces of care are')} written down,{' '}
        {sayCount(stoppages.length, 'stoppage', 'stoppages')}, {sayCount(removed.length, 'part taken out', 'parts taken out')}.
      </p>
      <TimeLine from={from} to={today} lanes={lanes} label={`Time line of ${machine.labelCode}; the same in words further down`} />
    </section>
  )
}

function monthsBefore(date: string, months: number): string {
  const at = new Date(`${date}T00:00:00Z`)
  at.setUTCMonth(at.getUTCMonth() - months, 1)
  return at.toISOString().slice(0, 10)
}
