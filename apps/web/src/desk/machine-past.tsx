/** What went wrong at a machine, and where it stood. */
import { useInfiniteQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { Link } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayInstant, sayNumber, sayWord } from '../ui/format.js'
import { Bones, Fault } from '../ui/parts.js'

type Detail = Answer<'getMachine'>

/** Few at first; who asks for older ones looks for something. */
const AT_FIRST = 15
const THEN = 100
const from = (cursor: string) => (cursor === '' ? { limit: AT_FIRST } : { limit: THEN, cursor })

export function Troubles({ machine }: { machine: Detail }): ReactNode {
  const list = useInfiniteQuery({
    queryKey: ['machine', machine.id, 'stoppages'],
    initialPageParam: '',
    queryFn: ({ pageParam }) => call('listStoppages', { query: { machineId: machine.id, ...from(pageParam) } }),
    getNextPageParam: ({ nextCursor }) => nextCursor,
  })
  const items = list.data?.pages.flatMap((page) => page.items) ?? []
  return (
    <section aria-labelledby="troubles">
      <h2 id="troubles">Stoppages</h2>
      {list.isPending ? <Bones lines={2} /> : null}
      {list.error ? <Fault error={list.error} again={() => void list.refetch()} /> : null}
      {list.data && items.length === 0 ? <p className="soft">None is written down.</p> : null}
      <ul className="plain sentences">
        {items.map(({ id, failedAt, failureMode, cause, durations, open }) => (
          <li key={id}>
            <Link to={`/stoppages/${id}`}>{sayInstant(failedAt, machine.zone ?? 'UTC')}</Link>: {sayWord(failureMode)}, cause{' '}
            {sayWord(cause)}; {sayNumber(durations.totalHours, 1)} hours{open ? ' so far' : ''}
          </li>
        ))}
      </ul>
      {list.hasNextPage ? <Older list={list} /> : null}
    </section>
  )
}

function Older({ list }: { list: { isFetchingNextPage: boolean; fetchNextPage(): Promise<unknown> } }): ReactNode {
  return (
    <button disabled={list.isFetchingNextPage} onClick={() => void list.fetchNextPage()}>
      Older ones
    </button>
  )
}

export function Past({ machine }: { machine: Detail }): ReactNode {
  return (
    <section aria-labelledby="past">
      <h2 id="past">Where it stood</h2>
      <ul>
        {machine.placements.map(({ id, warehouse, station, fromAt, toAt }) => (
          <li key={id}>
            {warehouse.name}
            {station ? `, ${station.line} ${station.name}` : ', at no station'}: from {sayInstant(fromAt, machine.zone ?? 'UTC')}{' '}
            {toAt ? `to ${sayInstant(toAt, machine.zone ?? 'UTC')}` : 'until now'}
          </li>
        ))}
      </ul>
    </section>
  )
}
