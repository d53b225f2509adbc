/** How good our own dates have been: how many came true between early and late, and the dates behind. */
import { useInfiniteQuery, useQuery } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { Link } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayDay, sayNumber } from '../ui/format.js'
import { Bones, Fault } from '../ui/parts.js'
import { useToday } from './me.js'
import type { ReviewScope } from './review-life.js'

type Scores = Answer<'dateScores'>
type Estimate = Scores['scores'][number]['between']

const TRIGGERS = { usage: 'use', wear: 'wear', life: 'chance of failure' } as const

function said({ value, low, high, hiddenReason }: Estimate): string {
  if (value === null) return hiddenReason ?? 'not known'
  const one = (share: number): string => sayNumber(100 * share)
  return `${one(value)} %${low === null || high === null ? '' : `, between ${one(low)} and ${one(high)}`}`
}

export function DatesSoFar({ scope }: { scope: ReviewScope }): ReactNode {
  const scores = useQuery({ queryKey: ['date-scores', scope], queryFn: () => call('dateScores', { query: scope }) })
  const [open, setOpen] = useState(false)
  return (
    <section aria-labelledby="dates">
      <h2 id="dates">How good our own dates have been</h2>
      {scores.isPending ? <Bones lines={5} /> : null}
      {scores.error ? <Fault error={scores.error} again={() => void scores.refetch()} /> : null}
      {scores.data ? <Shown scores={scores.data} /> : null}
      {scores.data && scores.data.scores.some(({ between }) => between.n > 0) ? (
        <details onToggle={(event) => setOpen(event.currentTarget.open)}>
          <summary>The dates behind it</summary>
          {open ? <Rows scope={scope} /> : null}
        </details>
      ) : null}
    </section>
  )
}

function Shown({ scores }: { scores: Scores }): ReactNode {
  const today = useToday()
  return (
    <>
      {scores.sentences.map((sentence) => (
        <p key={sentence}>{sentence}</p>
      ))}
      <div className="wide">
        <table className="stacked">
          <thead>
            <tr>
              <th>Dates by</th>
              <th>Came true between early and late, promised 80 %</th>
              <th>before early, promised 10 %</th>
              <th>after late, promised 10 %</th>
              <th className="figure">n</th>
            </tr>
          </thead>
          <tbody>
            {scores.scores.map(({ trigger, between, belowEarly, aboveLate }) => (
              <tr key={trigger}>
                <td>{TRIGGERS[trigger]}</td>
                {between.value === null ? (
                  <td className="soft" colSpan={3}>
                    {said(between)}
                  </td>
                ) : (
                  <>
                    <td data-label="between, promised 80 %">{said(between)}</td>
                    <td data-label="before early, promised 10 %">{said(belowEarly)}</td>
                    <td data-label="after late, promised 10 %">{said(aboveLate)}</td>
                  </>
                )}
                <td className="figure" data-label="n">
                  {between.n}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <p className="soft small">
        For each time a task by use was done, the date that would have been said on the day after, from what was known then, against the day
        on which that use was reached. Dates by the calendar alone are exact and left out. The limits count the dates of one machine as
        alike.{scores.workedOutOn === null ? '' : ` Worked out in the night to ${sayDay(scores.workedOutOn, today)}.`}
      </p>
    </>
  )
}

const PLACES = { before_early: 'before early', between: 'between', after_late: 'after late' } as const

function Rows({ scope }: { scope: ReviewScope }): ReactNode {
  const today = useToday()
  const rows = useInfiniteQuery({
    queryKey: ['scored-dates', scope],
    initialPageParam: '',
    queryFn: ({ pageParam }) => call('listScoredDates', { query: { ...scope, limit: 100, ...(pageParam ? { cursor: pageParam } : {}) } }),
    getNextPageParam: (page) => page.nextCursor,
  })
  const items = rows.data?.pages.flatMap((page) => page.items) ?? []
  return (
    <>
      {rows.isPending ? <Bones /> : null}
      {rows.error ? <Fault error={rows.error} again={() => void rows.refetch()} /> : null}
      <div className="wide">
        <table className="stacked">
          <thead>
            <tr>
              <th>Machine</th>
              <th>Task</th>
              <th>Done on</th>
              <th>Said: early, likely, late</th>
              <th>Came true on</th>
              <th>Where</th>
            </tr>
          </thead>
          <tbody>
            {items.map((row) => (
              <tr key={`${row.machine.id}${row.taskName}${row.doneOn}`}>
                <td>
                  <Link to={`/machines/${row.machine.id}`}>{row.machine.labelCode}</Link>
                </td>
                <td>{row.taskName}</td>
                <td data-label="Done on">{sayDay(row.doneOn, today)}</td>
                <td data-label="Said">
                  {sayDay(row.earlyOn, today)}, {row.likelyOn === null ? 'beyond five years' : sayDay(row.likelyOn, today)},{' '}
                  {row.lateOn === null ? 'beyond five years' : sayDay(row.lateOn, today)}
                </td>
                <td data-label="Came true on">{sayDay(row.trueOn, today)}</td>
                <td>{PLACES[row.place]}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      {rows.hasNextPage ? (
        <button onClick={() => void rows.fetchNextPage()} disabled={rows.isFetchingNextPage}>
          {rows.isFetchingNextPage ? 'Loading …' : 'Show more'}
        </button>
      ) : null}
    </>
  )
}
