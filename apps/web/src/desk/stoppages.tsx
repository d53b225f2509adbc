/** What stoppages cost: the worst first over a period, where the time went, the rows behind. */
import { keepPreviousData, useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { Link, useSearchParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayDay, sayMoney, sayNumber } from '../ui/format.js'
import { Bones, Fault, Heading } from '../ui/parts.js'
import { mayDecide, useMe, useToday } from './me.js'
import { NoWarehouseYet } from './no-warehouse.js'
import { DatesSoFar } from './review-dates.js'
import { LifeOfParts, type ReviewScope } from './review-life.js'
import { Measures, rowsAddress } from './review-measures.js'
import { CareRows, type StoppageFilter, StoppageRows } from './review-rows.js'
import { SavedViews } from './saved-views.js'
import { PARTS } from './stoppage-words.js'

type Review = Answer<'review'>

const daysBefore = (date: string, days: number): string =>
  new Date(Date.parse(`${date}T00:00:00Z`) - days * 86_400_000).toISOString().slice(0, 10)

const FLAGS: Readonly<Record<string, 'true' | 'false'>> = { true: 'true', false: 'false' }

/** What the address asks for: the period, where, which machines, and which rows below. */
function useAsked(): { review: { from: string; to: string } & ReviewScope; scope: ReviewScope; filter: StoppageFilter; care: boolean } {
  const today = useToday()
  const [search] = useSearchParams()
  const from = search.get('from') ?? daysBefore(today, 365)
  const to = search.get('to') ?? today
  const text = <const Key extends string>(key: Key): Partial<Record<Key, string>> => {
    const value = search.get(key)
    return value ? ({ [key]: value } as Partial<Record<Key, string>>) : {}
  }
  const flag = <const Key extends string>(key: Key): Partial<Record<Key, 'true' | 'false'>> => {
    const value = FLAGS[search.get(key) ?? '']
    return value ? ({ [key]: value } as Partial<Record<Key, 'true' | 'false'>>) : {}
  }
  const scope = { ...text('warehouseId'), ...text('machineTypeId') }
  return {
    review: { from, to, ...scope },
    scope,
    filter: {
      from,
      to,
      ...scope,
      ...text('machineId'),
      ...flag('planned'),
      ...flag('open'),
      ...(search.get('begun') === 'true' ? { begun: 'true' as const } : {}),
    },
    care: search.get('rows') === 'care',
  }
}

export function Stoppages(): ReactNode {
  const me = useMe()
  const { review: asked, scope, filter, care } = useAsked()
  const review = useQuery({
    queryKey: ['review', asked],
    queryFn: () => call('review', { query: asked }),
    enabled: mayDecide(me),
    placeholderData: keepPreviousData,
  })
  return (
    <>
      <Heading title="Stoppages">Stoppages</Heading>
      <NoWarehouseYet />
      <Scope from={asked.from} to={asked.to} scope={scope} />
      {review.error ? <Fault error={review.error} again={() => void review.refetch()} /> : null}
      {review.isPending && mayDecide(me) ? <Bones lines={30} /> : null}
      <SavedViews place="stoppages" />
      {mayDecide(me) ? <OnThisPage /> : null}
      {review.data ? <Found review={review.data} /> : null}
      {care ? <CareRows from={asked.from} to={asked.to} scope={scope} /> : <StoppageRows filter={filter} />}
      {mayDecide(me) ? (
        <>
          <LifeOfParts scope={scope} />
          <DatesSoFar scope={scope} />
        </>
      ) : null}
    </>
  )
}

type Named = Readonly<{ id: string; name: string }>

const SECTIONS = [
  ['worst', 'the worst first'],
  ['measures', 'the measures'],
  ['rows', 'one by one'],
  ['life', 'how long parts last'],
  ['dates', 'how good our dates have been'],
] as const

function OnThisPage(): ReactNode {
  return (
    <nav aria-label="On this page" className="row small no-print">
      {SECTIONS.map(([id, name]) => (
        <a key={id} href={`#${id}`}>
          {name}
        </a>
      ))}
    </nav>
  )
}

/** What the fields say that paper has not. */
function PrintedScope({ from, to, scope, types }: { from: string; to: string; scope: ReviewScope; types: readonly Named[] }): ReactNode {
  const me = useMe()
  const of = (id: string | undefined, named: readonly Named[], all: string): string => named.find((one) => one.id === id)?.name ?? all
  return (
    <p className="print-only">
      {sayDay(from, '')} to {sayDay(to, '')}, {of(scope.warehouseId, me.warehouses, 'all warehouses')},{' '}
      {of(scope.machineTypeId, types, 'all machine types')}.
    </p>
  )
}

function Scope({ from, to, scope }: { from: string; to: string; scope: ReviewScope }): ReactNode {
  const me = useMe()
  const [search, setSearch] = useSearchParams()
  const types = useQuery({ queryKey: ['machine-types'], queryFn: () => call('listMachineTypes'), enabled: mayDecide(me) })
  const change = (key: string, value: string): void => {
    const next = new URLSearchParams(search)
    if (value) next.set(key, value)
    else next.delete(key)
    // The rows of one machine are not those of another place or time.
    next.delete('machineId')
    setSearch(next, { replace: true })
  }
  return (
    <>
      <PrintedScope from={from} to={to} scope={scope} types={types.data?.items ?? []} />
      <div className="row no-print">
        <div>
          <label htmlFor="from">From</label>
          <input id="from" type="date" value={from} onChange={(event) => event.target.value && change('from', event.target.value)} />
        </div>
        <div>
          <label htmlFor="to">To</label>
          <input id="to" type="date" value={to} onChange={(event) => event.target.value && change('to', event.target.value)} />
        </div>
        <div>
          <label htmlFor="where">Warehouse</label>
          <select id="where" value={scope.warehouseId ?? ''} onChange={(event) => change('warehouseId', event.target.value)}>
            <option value="">all</option>
            {me.warehouses.map(({ id, name }) => (
              <option key={id} value={id}>
                {name}
              </option>
            ))}
          </select>
        </div>
        {mayDecide(me) ? (
          <div>
            <label htmlFor="machine-type">Machine type</label>
            <select id="machine-type" value={scope.machineTypeId ?? ''} onChange={(event) => change('machineTypeId', event.target.value)}>
              <option value="">all</option>
              {types.data?.items.map(({ id, name }) => (
                <option key={id} value={id}>
                  {name}
                </option>
              ))}
            </select>
          </div>
        ) : null}
      </div>
    </>
  )
}

const WORST_SHOWN = 40

function Found({ review }: { review: Review }): ReactNode {
  const { machines, split, sentences } = review
  const [search] = useSearchParams()
  const rowsOf = (machineId: string): string => rowsAddress(search, { machineId })
  const worst = machines.filter(({ stoppages, hoursStopped }) => stoppages > 0 || hoursStopped > 0)
  const whole = PARTS.reduce((sum, [, key]) => sum + split[key], 0)
  return (
    <>
      {sentences.map((sentence) => (
        <p key={sentence}>{sentence}</p>
      ))}
      <h2>Where the time went</h2>
      {whole === 0 ? (
        <p className="soft">No hours to split in this period.</p>
      ) : (
        <ul className="plain">
          {PARTS.map(([, key, name]) => (
            <li key={key} className="share">
              <span>{name}</span>
              <span>{sayNumber(split[key], 1)} h</span>
              <svg viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true">
                <rect className="range" width={(split[key] / whole) * 100} height={10} />
              </svg>
            </li>
          ))}
        </ul>
      )}
      <h2 id="worst">The worst first</h2>
      {worst.length === 0 ? <p className="soft">No machine stood still in this period.</p> : null}
      <div className="wide">
        <table className="stacked">
          <thead>
            <tr>
              <th>Machine</th>
              <th className="figure">Hours stopped</th>
              <th className="figure">Stoppages</th>
              <th className="figure">Unplanned</th>
              <th className="figure">Hours to back in use</th>
              <th className="figure">Cost</th>
            </tr>
          </thead>
          <tbody>
            {worst.slice(0, WORST_SHOWN).map((row) => (
              <tr key={row.machineId}>
                <td>
                  <Link to={`/machines/${row.machineId}`}>{row.labelCode}</Link>
                  {row.standsOut ? <div className="strong">more often than chance explains</div> : null}
                  <div className="soft">
                    {row.warehouseName}
                    {row.stationName ? `, ${row.stationName}` : ''}
                  </div>
                  <div className={row.standsOut ? undefined : 'soft small'}>{row.advice.sentence}</div>
                </td>
                <td className="figure" data-label="Hours stopped">
                  <Link
                    to={rowsOf(row.machineId)}
                    aria-label={`${sayNumber(row.hoursStopped, 1)} hours of ${row.labelCode}: its stoppages`}
                  >
                    {sayNumber(row.hoursStopped, 1)}
                  </Link>
                </td>
                <td className="figure" data-label="Stoppages">
                  {row.stoppages}
                </td>
                <td className="figure" data-label="Unplanned">
                  {row.unplanned}
                </td>
                <td className="figure" data-label="Hours to back in use">
                  {row.meanHoursToBackInUse.value === null ? (
                    <span className="soft" title={row.meanHoursToBackInUse.hiddenReason ?? ''}>
                      n = {row.meanHoursToBackInUse.n}
                    </span>
                  ) : (
                    `${sayNumber(row.meanHoursToBackInUse.value, 1)} (${sayNumber(row.meanHoursToBackInUse.low ?? 0, 1)}–${sayNumber(row.meanHoursToBackInUse.high ?? 0, 1)})`
                  )}
                </td>
                <td className="figure" data-label="Cost">
                  {row.cost === null ? 'not stated' : sayMoney(row.cost, row.currency)}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      {worst.length > WORST_SHOWN ? (
        <p className="soft small">
          {WORST_SHOWN} of {sayNumber(worst.length)} that stood still. All of them are in the file below.
        </p>
      ) : null}
      <Measures review={review} />
    </>
  )
}
