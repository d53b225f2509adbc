/** What falls due when: early–likely–late bars on the coming weeks, filters in the address, decisions beside each row. */
import { Fragment, type ReactNode, useState } from 'react'
import { Link, useSearchParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { DueBar, WeekBand, WeekScale } from '../ui/week-charts.js'
import { sayCount, sayDay, sayRange } from '../ui/format.js'
import { More, useLongList } from '../ui/long-list.js'
import { Bones, Fault, Heading } from '../ui/parts.js'
import { Decide } from './decide.js'
import { mayDecide, useMe } from './me.js'
import { NoWarehouseYet } from './no-warehouse.js'
import { SavedViews } from './saved-views.js'

type Item = Answer<'comingUp'>['items'][number]

const ONLY = {
  late: 'late',
  do_not_use: 'not to be used until checked',
  needs_person: 'without an open day',
  does_not_fit: 'what does not fit into the hours there are',
  past_hard_limit: 'past the hard limit',
} as const
const onlyOf = (text: string | null): keyof typeof ONLY | null => (text !== null && text in ONLY ? (text as keyof typeof ONLY) : null)

export function ComingUp(): ReactNode {
  const me = useMe()
  const [search, setSearch] = useSearchParams()
  const warehouseId = search.get('warehouseId') ?? ''
  const weeks = Number(search.get('weeks') ?? 8)
  const find = search.get('search') ?? ''
  const only = onlyOf(search.get('only'))
  const skill = search.get('skill') as Item['skill'] | null
  const query = {
    weeks,
    limit: 500,
    ...(only ? { only } : {}),
    ...(skill ? { skill } : {}),
    ...(warehouseId ? { warehouseId } : {}),
    ...(find ? { search: find } : {}),
  }
  const coming = useLongList(['coming-up', query], (from) => call('comingUp', { query: { ...query, ...from } }))
  const { first, items } = coming
  const change = (key: string, value: string): void => {
    const next = new URLSearchParams(search)
    if (value) next.set(key, value)
    else next.delete(key)
    setSearch(next, { replace: true })
  }
  return (
    <>
      <Heading title="Coming up">Coming up</Heading>
      <NoWarehouseYet />
      <div className="row no-print" role="search">
        <div>
          <label htmlFor="where">Warehouse</label>
          <select id="where" value={warehouseId} onChange={(event) => change('warehouseId', event.target.value)}>
            <option value="">all</option>
            {me.warehouses.map(({ id, name }) => (
              <option key={id} value={id}>
                {name}
              </option>
            ))}
          </select>
        </div>
        <div>
          <label htmlFor="weeks">Weeks</label>
          <select id="weeks" value={weeks} onChange={(event) => change('weeks', event.target.value)}>
            {[4, 8, 13, 26, 52].map((count) => (
              <option key={count}>{count}</option>
            ))}
          </select>
        </div>
        <div>
          <label htmlFor="find">Label or task</label>
          <input
            id="find"
            key={find}
            defaultValue={find}
            onBlur={(event) => change('search', event.target.value)}
            onKeyDown={(event) => event.key === 'Enter' && change('search', event.currentTarget.value)}
          />
        </div>
        <div>
          <label htmlFor="skill">Who can do it</label>
          <select id="skill" value={search.get('skill') ?? ''} onChange={(event) => change('skill', event.target.value)}>
            <option value="">anyone</option>
            <option value="instructed">an instructed person</option>
            <option value="technician">a technician</option>
            <option value="electrical">a qualified electrical person</option>
          </select>
        </div>
        {only ? <button onClick={() => change('only', '')}>Show all, not only {ONLY[only]}</button> : null}
      </div>
      <SavedViews place="coming_up" />
      {coming.isPending ? <Bones lines={12} /> : null}
      {coming.error ? <Fault error={coming.error} again={() => void coming.refetch()} /> : null}
      {first && !only
        ? first.warehouses.filter(({ id }) => warehouseId === '' || id === warehouseId).map((hall) => <Room key={hall.id} hall={hall} />)
        : null}
      {first ? <Lines items={items} from={first.from} to={first.to} halls={first.warehouses} isWhole={!coming.hasNextPage} /> : null}
      <More list={coming} />
    </>
  )
}

const MOST_WEEKS_DRAWN = 13

/** The load of one warehouse against the hours there are, and in words what does not fit. */
function Room({ hall }: { hall: Answer<'comingUp'>['warehouses'][number] }): ReactNode {
  const over = hall.weeks.filter(({ doesNotFitCount }) => doesNotFitCount > 0)
  const known = hall.weeks.some(({ technicianMinutes }) => technicianMinutes !== null)
  return (
    <details>
      <summary>
        {hall.name}:{' '}
        {over.length > 0
          ? `in ${sayCount(over.length, 'week', 'weeks')} technicians’ care does not fit, the first from ${sayDay(over[0]?.weekStart ?? null, hall.today)}`
          : known
            ? 'technicians’ care fits into the hours there are'
            : 'how many hours of technicians’ work there are is not stated'}
      </summary>
      {over.map((week) => (
        <p key={week.weekStart}>
          Week from {sayDay(week.weekStart, hall.today)}: {Math.round(week.doesNotFitMinutes)} minutes,{' '}
          {sayCount(week.doesNotFitCount, 'task', 'tasks')}
          {week.technicianMinutes === null || week.technicianMinutes === 0
            ? ': no day of it is open for them'
            : ` beyond what its ${Math.round(week.technicianMinutes)} minutes hold`}
          .
        </p>
      ))}
      {over.length > 0 ? (
        <p>
          <Link to={`/coming-up?warehouseId=${hall.id}&only=does_not_fit`}>See which</Link>
        </p>
      ) : null}
      {known ? null : (
        <p>
          <Link to={`/set-up/warehouses/${hall.id}`}>Say how many hours of technicians’ work there are in a week</Link>
        </p>
      )}
      <WeekBand weeks={hall.weeks.slice(0, MOST_WEEKS_DRAWN)} label={hall.name} />
    </details>
  )
}

function Lines({
  items,
  from,
  to,
  halls,
  isWhole,
}: {
  items: Item[]
  from: string
  to: string
  halls: Answer<'comingUp'>['warehouses']
  /** false: more is there than is listed. */
  isWhole: boolean
}): ReactNode {
  if (items.length === 0) return <p className="soft">Nothing falls due in these weeks.</p>
  return (
    <>
      {halls
        .filter(({ id }) => items.some(({ warehouseId }) => warehouseId === id))
        .map(({ id, name, today }) => {
          const rows = items.filter(({ warehouseId }) => warehouseId === id)
          return (
            <section key={id} aria-label={name}>
              <h2>
                {name}:{' '}
                {isWhole
                  ? sayCount(rows.length, 'task falls due', 'tasks fall due')
                  : sayCount(rows.length, 'task listed so far', 'tasks listed so far')}
              </h2>
              <div className="wide">
                <table className="stacked">
                  <thead>
                    <tr>
                      <th>Machine</th>
                      <th>Task</th>
                      <th style={{ minWidth: 240 }}>
                        Early, likely, late
                        <WeekScale from={from} to={to} today={today} />
                      </th>
                      <th>Due</th>
                      <th className="figure">min</th>
                      <th>Order</th>
                      <th>
                        <span className="seen-by-readers">Decide</span>
                      </th>
                    </tr>
                  </thead>
                  <tbody>
                    {byLine(rows).map(([line, list]) => (
                      <Fragment key={line}>
                        <tr className="group">
                          <th scope="colgroup" colSpan={7}>
                            {line === '' ? 'At no line' : `Line ${line}`}: {Math.round(list.reduce((sum, { minutes }) => sum + minutes, 0))}{' '}
                            minutes
                          </th>
                        </tr>
                        {list.map((item) => (
                          <Line key={`${item.machineId}${item.serviceTaskId}`} item={item} from={from} to={to} today={today} />
                        ))}
                      </Fragment>
                    ))}
                  </tbody>
                </table>
              </div>
            </section>
          )
        })}
    </>
  )
}

function byLine(rows: Item[]): [string, Item[]][] {
  const lines = new Map<string, Item[]>()
  for (const row of rows) lines.set(row.line, [...(lines.get(row.line) ?? []), row])
  return [...lines].sort(([a], [b]) => (a === '' ? 1 : b === '' ? -1 : a.localeCompare(b)))
}

function Line({ item, from, to, today }: { item: Item; from: string; to: string; today: string }): ReactNode {
  const me = useMe()
  const [asking, setAsking] = useState(false)
  return (
    <>
      <tr>
        <td className="whole">
          <Link to={`/machines/${item.machineId}`}>{item.labelCode}</Link>
          <div className="soft">{item.stationName ? `${item.line} ${item.stationName}` : 'at no station'}</div>
        </td>
        <td>
          {item.taskName}
          {item.safetyCheck ? <div className="soft">safety check</div> : null}
        </td>
        <td>
          <DueBar from={from} to={to} earlyOn={item.earlyOn} likelyOn={item.likelyOn} lateOn={item.lateOn} />
          <details className="soft">
            <summary>{sayRange(item, today)}</summary>
            {item.why}
          </details>
        </td>
        <td data-label="Due">
          {sayDay(item.dueOn, today)}
          {item.doNotUse ? (
            <div className="alarm">Do not use until checked, or as your site’s rules say</div>
          ) : item.late ? (
            <div className="strong">late</div>
          ) : null}
          {item.needsPerson ? <div className="strong">no open day: choose one</div> : null}
          {item.fits ? null : <div className="strong">does not fit into its week</div>}
        </td>
        <td className="figure min">{item.minutes}</td>
        <td data-label="Order">
          {item.workOrder ? <Link to={`/work/${item.workOrder.id}`}>{item.workOrder.number}</Link> : <span className="soft">none</span>}
        </td>
        <td>
          {mayDecide(me) && item.occurrenceId && item.occurrenceKind !== 'monthly' ? (
            <button className="small" onClick={() => setAsking(!asking)} aria-expanded={asking} aria-label={`Decide on ${item.labelCode}`}>
              Decide…
            </button>
          ) : null}
        </td>
      </tr>
      {asking && item.occurrenceId ? (
        <tr>
          <td colSpan={7}>
            <Decide item={item} onDone={() => setAsking(false)} />
          </td>
        </tr>
      ) : null}
    </>
  )
}
