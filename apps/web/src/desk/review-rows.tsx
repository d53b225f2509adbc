/** The rows behind the review's numbers, one by one: stoppages, or care that ended in the period. */
import { useInfiniteQuery } from '@tanstack/react-query'
import { type ReactNode, useEffect, useRef } from 'react'
import { Link, useLocation } from 'react-router'
import { call } from '../client/api.js'
import { sayCount, sayDay, sayInstant, sayNumber, sayWord } from '../ui/format.js'
import { Bones, Fault } from '../ui/parts.js'
import { useToday } from './me.js'
import type { ReviewScope } from './review-life.js'

export interface StoppageFilter extends ReviewScope {
  from: string
  to: string
  machineId?: string
  begun?: 'true'
  open?: 'true' | 'false'
  planned?: 'true' | 'false'
}

const PLANNED = { true: 'the planned ones', false: 'the unplanned ones' } as const
const OPEN = { true: 'still open', false: 'back in use' } as const

/** What of the list is shown, after 'One by one'. */
export function filterWords({ planned, open, begun, machineId }: StoppageFilter, label: string | undefined): string {
  const words = [
    machineId === undefined ? '' : `of ${label ?? 'one machine'}`,
    planned === undefined ? '' : PLANNED[planned],
    open === undefined ? '' : OPEN[open],
    begun === undefined ? '' : 'begun in the period',
  ].filter((word) => word !== '')
  return words.length === 0 ? '' : `: ${words.join(', ')}`
}

/** A number's link leads here: the eye and the keyboard come along. */
function RowsHeading({ children }: { children: ReactNode }): ReactNode {
  const { hash, key } = useLocation()
  const heading = useRef<HTMLHeadingElement>(null)
  useEffect(() => {
    if (hash !== '#rows') return
    heading.current?.scrollIntoView()
    heading.current?.focus()
  }, [hash, key])
  return (
    <h2 id="rows" ref={heading} tabIndex={-1}>
      {children}
    </h2>
  )
}

export function StoppageRows({ filter }: { filter: StoppageFilter }): ReactNode {
  const list = useInfiniteQuery({
    queryKey: ['stoppages', filter],
    initialPageParam: '',
    queryFn: ({ pageParam }) => call('listStoppages', { query: { ...filter, limit: 200, ...(pageParam ? { cursor: pageParam } : {}) } }),
    getNextPageParam: (page) => page.nextCursor,
  })
  const rows = list.data?.pages.flatMap(({ items }) => items) ?? []
  const beganAt = ({ failedAt, warehouse }: (typeof rows)[number]): string => sayInstant(failedAt, warehouse.zone)
  return (
    <>
      <RowsHeading>One by one{filterWords(filter, rows[0]?.machine.labelCode)}</RowsHeading>
      {list.isPending ? <Bones /> : null}
      {list.error ? <Fault error={list.error} again={() => void list.refetch()} /> : null}
      {list.data ? (
        <p className="soft small">
          {rows.length === 0
            ? 'None in this period.'
            : `${sayCount(rows.length, 'stoppage', 'stoppages')}${list.hasNextPage ? ' so far' : ''}.`}
        </p>
      ) : null}
      <div className="wide">
        <table className="stacked">
          <thead>
            <tr>
              <th>When</th>
              <th>Machine</th>
              <th>What</th>
              <th className="figure">Hours</th>
            </tr>
          </thead>
          <tbody>
            {rows.map((stoppage) => (
              <tr key={stoppage.id}>
                <td>
                  <Link to={`/stoppages/${stoppage.id}`} aria-label={`${beganAt(stoppage)}: stoppage of ${stoppage.machine.labelCode}`}>
                    {beganAt(stoppage)}
                  </Link>
                </td>
                <td>
                  <Link to={`/machines/${stoppage.machine.id}`}>{stoppage.machine.labelCode}</Link>
                </td>
                <td>
                  {sayWord(stoppage.failureMode)}
                  {stoppage.componentKey ? `, ${sayWord(stoppage.componentKey)}` : ''}; cause {sayWord(stoppage.cause)}
                  {stoppage.planned ? '; planned' : ''}
                </td>
                <td className="figure" data-label="Hours">
                  {sayNumber(stoppage.durations.totalHours, 1)}
                  {stoppage.open ? ' so far' : ''}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      {list.hasNextPage ? (
        <button onClick={() => void list.fetchNextPage()} disabled={list.isFetchingNextPage}>
          {list.isFetchingNextPage ? 'Loading …' : 'Show more'}
        </button>
      ) : null}
    </>
  )
}

export function CareRows({ from, to, scope }: { from: string; to: string; scope: ReviewScope }): ReactNode {
  const today = useToday()
  const list = useInfiniteQuery({
    queryKey: ['ended-care', from, to, scope],
    initialPageParam: '',
    queryFn: ({ pageParam }) =>
      call('listOccurrences', {
        query: { ...scope, endedFrom: from, endedTo: to, judged: 'true', limit: 200, ...(pageParam ? { cursor: pageParam } : {}) },
      }),
    getNextPageParam: (page) => page.nextCursor,
  })
  const rows = list.data?.pages.flatMap(({ items }) => items) ?? []
  return (
    <>
      <RowsHeading>One by one: care that was done or missed in the period</RowsHeading>
      {list.isPending ? <Bones /> : null}
      {list.error ? <Fault error={list.error} again={() => void list.refetch()} /> : null}
      {list.data ? (
        <p className="soft small">
          {rows.length === 0 ? 'None in this period.' : `${sayCount(rows.length, 'time', 'times')}${list.hasNextPage ? ' so far' : ''}.`}
        </p>
      ) : null}
      <div className="wide">
        <table className="stacked">
          <thead>
            <tr>
              <th>Machine</th>
              <th>Task</th>
              <th>Due</th>
              <th>Late from</th>
              <th>Ended</th>
              <th>How</th>
            </tr>
          </thead>
          <tbody>
            {rows.map((row) => (
              <tr key={row.id}>
                <td>
                  <Link to={`/machines/${row.machineId}`}>{row.labelCode}</Link>
                </td>
                <td>{row.taskName}</td>
                <td data-label="Due">{sayDay(row.dueOn, today)}</td>
                <td data-label="Late from">{row.lateFrom === null ? 'never' : sayDay(row.lateFrom, today)}</td>
                <td data-label="Ended">{sayDay(row.doneOn ?? row.endedOn, today)}</td>
                <td>{howItEnded(row)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      {list.hasNextPage ? (
        <button onClick={() => void list.fetchNextPage()} disabled={list.isFetchingNextPage}>
          {list.isFetchingNextPage ? 'Loading …' : 'Show more'}
        </button>
      ) : null}
    </>
  )
}

function howItEnded({ state, doneOn, lateFrom }: { state: string; doneOn: string | null; lateFrom: string | null }): string {
  if (state !== 'done' || doneOn === null) return 'missed'
  return lateFrom === null || doneOn < lateFrom ? 'done in time' : 'done late'
}
