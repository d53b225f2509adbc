/** What must be known and decided: sentences with numbers that open their rows, what waits, the coming weeks. */
import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { Link } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { WeekBand } from '../ui/week-charts.js'
import { sayCount } from '../ui/format.js'
import { Bones, Heading, NoPage } from '../ui/parts.js'
import { mayDecide, useMe } from './me.js'

type Week = Answer<'thisWeek'>

/** The list behind a sentence's number. */
function rowsOf(kind: string, warehouseId: string): string {
  const here = `warehouseId=${warehouseId}`
  switch (kind) {
    case 'do_not_use':
    case 'past_hard_limit':
    case 'late':
    case 'needs_person':
      return `/coming-up?${here}&only=${kind}`
    case 'monthly_care':
      return `/work?${here}&show=round`
    case 'open_stoppages':
      return `/stoppages?${here}&open=true`
    case 'set_aside':
      return `/evidence?${here}`
    case 'parts':
      return `/parts?${here}`
    case 'work_under_way':
      return `/work?${here}`
    default:
      return `/coming-up?${here}`
  }
}

const WAITING: readonly [keyof Week['waiting'], string, string, string][] = [
  ['pastHardLimit', 'piece of care past its hard limit', 'pieces of care past their hard limit', '/coming-up?only=past_hard_limit'],
  ['needsPerson', 'date that no open day serves', 'dates that no open day serves', '/coming-up?only=needs_person'],
  ['setAside', 'piece of evidence set aside', 'pieces of evidence set aside', '/evidence'],
  ['openStoppages', 'machine stands still', 'machines stand still', '/stoppages?open=true'],
  ['findings', 'thing was found on site and waits', 'things were found on site and wait', '/findings'],
  ['toLookOver', 'finished order to look over', 'finished orders to look over', '/work?state=done'],
  [
    'ordersOfGone',
    'order lies with somebody who can no longer sign in, or does not serve its warehouse',
    'orders lie with somebody who can no longer sign in, or does not serve their warehouse',
    '/work?state=issued,accepted,under_way,waiting,returned',
  ],
  ['conflicts', 'pair of entries that disagree', 'pairs of entries that disagree', '/conflicts'],
  [
    'uncertainMessages',
    'mail of which nobody knows whether it arrived',
    'mails of which nobody knows whether they arrived',
    '/messages?state=uncertain',
  ],
]

export function ThisWeek(): ReactNode {
  const me = useMe()
  const week = useQuery({ queryKey: ['this-week'], queryFn: () => call('thisWeek') })
  if (week.isPending) return <Bones lines={10} />
  if (week.error) return <NoPage title="This week" error={week.error} again={() => void week.refetch()} />
  const { warehouses, waiting } = week.data
  const open = WAITING.filter(([key]) => waiting[key] > 0)
  if (warehouses.length === 0) return <FirstStep decides={mayDecide(me)} />
  return (
    <>
      <Heading title="This week">This week</Heading>
      <div className="two">
        <div>
          {warehouses.map((warehouse) => (
            <Hall key={warehouse.id} warehouse={warehouse} />
          ))}
        </div>
        <section aria-labelledby="waiting">
          <h2 id="waiting" style={{ marginTop: 0 }}>
            Waits for a decision
          </h2>
          {open.length === 0 ? <p className="soft">Nothing waits for you.</p> : null}
          <ul className="plain sentences">
            {open.map(([key, one, many, to]) => (
              <li key={key}>
                <Link to={to}>{sayCount(waiting[key], one, many)}</Link>
              </li>
            ))}
          </ul>
          <p className="soft small" style={{ marginTop: 16 }}>
            No care due does not mean more than that. A tag on the machine counts more than this screen.
          </p>
        </section>
      </div>
    </>
  )
}

function Hall({ warehouse }: { warehouse: Week['warehouses'][number] }): ReactNode {
  return (
    <section aria-labelledby={`hall-${warehouse.id}`}>
      <h2 id={`hall-${warehouse.id}`} style={{ marginTop: 0 }}>
        {warehouse.name}
      </h2>
      <ul className="plain sentences" style={{ marginBottom: 16 }}>
        {warehouse.sentences.map(({ kind, count, text }) => (
          <li key={kind} className={kind === 'do_not_use' || kind === 'past_hard_limit' ? 'alarm' : undefined}>
            {count > 0 && kind !== 'nothing' ? <Link to={rowsOf(kind, warehouse.id)}>{text}</Link> : text}
          </li>
        ))}
      </ul>
      <WeekBand weeks={warehouse.weeks.slice(0, 8)} label={warehouse.name} />
    </section>
  )
}

function FirstStep({ decides }: { decides: boolean }): ReactNode {
  return (
    <>
      <Heading title="This week">Nothing is registered yet</Heading>
      <p>
        Here you will read, warehouse by warehouse, what must be known and decided this week. It begins with one warehouse and its machines;
        everything that is not known may stay ‘not known’.
      </p>
      {decides ? (
        <Link className="button main" to="/begin">
          Begin: seven questions
        </Link>
      ) : (
        <p className="soft">A manager registers the first warehouse.</p>
      )}
    </>
  )
}
