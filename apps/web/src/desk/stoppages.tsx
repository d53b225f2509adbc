/** What stoppages cost: the worst first over a period, where the time went, the rows behind. */
import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { Link, useSearchParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayInstant, sayMoney, sayNumber, sayWord } from '../ui/format.js'
import { Bones, Fault, Heading } from '../ui/parts.js'
import { mayDecide, useMe, useToday } from './me.js'
import { Measures } from './review-measures.js'
import { SavedViews } from './saved-views.js'

type Review = Answer<'review'>

const daysBefore = (date: string, days: number): string =>
  new Date(Date.parse(`${date}T00:00:00Z`) - days * 86_400_000).toISOString().slice(0, 10)

const PLANNED: Readonly<Record<string, 'true' | 'false'>> = { true: 'true', false: 'false' }

export function Stoppages(): ReactNode {
  const me = useMe()
  const today = useToday()
  const [search, setSearch] = useSearchParams()
  const from = search.get('from') ?? daysBefore(today, 365)
  const to = search.get('to') ?? today
  const warehouseId = search.get('warehouseId') ?? ''
  const change = (key: string, value: string): void => setSearch({ ...Object.fromEntries(search), [key]: value }, { replace: true })
  const planned = PLANNED[search.get('planned') ?? ''] ?? null
  const where = warehouseId ? { warehouseId } : {}
  const review = useQuery({
    queryKey: ['review', from, to, warehouseId],
    queryFn: () => call('review', { query: { from, to, ...where } }),
    enabled: mayDecide(me),
  })
  return (
    <>
      <Heading title="Stoppages">Stoppages</Heading>
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
          <select id="where" value={warehouseId} onChange={(event) => change('warehouseId', event.target.value)}>
            <option value="">all</option>
            {me.warehouses.map(({ id, name }) => (
              <option key={id} value={id}>
                {name}
              </option>
            ))}
          </select>
        </div>
      </div>
      {review.error ? <Fault error={review.error} again={() => void review.refetch()} /> : null}
      {review.isPending && mayDecide(me) ? <Bones lines={10} /> : null}
      <SavedViews place="stoppages" />
      {review.data ? <Found review={review.data} /> : null}
      <List
        query={{
          from,
          to,
          limit: 200,
          ...where,
          ...(search.get('open') ? { open: 'true' as const } : {}),
          ...(planned === null ? {} : { planned }),
        }}
      />
    </>
  )
}

const PARTS = [
  ['detectionHours', 'until noticed'],
  ['administrativeHours', 'deciding'],
  ['logisticHours', 'waiting for parts or people'],
  ['technicalHours', 'getting ready'],
  ['activeHours', 'hands on'],
] as const

function Found({ review }: { review: Review }): ReactNode {
  const { machines, split, sentences, totals } = review
  const worst = machines.filter(({ stoppages }) => stoppages > 0)
  const whole = PARTS.reduce((sum, [key]) => sum + split[key], 0)
  return (
    <>
      {sentences.map((sentence) => (
        <p key={sentence}>{sentence}</p>
      ))}
      <h2>Where the time went</h2>
      {whole === 0 ? <p className="soft">No hours to split in this period.</p> : null}
      <ul className="plain">
        {PARTS.map(([key, name]) => (
          <li key={key} style={{ display: 'grid', gridTemplateColumns: '14rem 4rem 1fr', gap: 12, alignItems: 'center' }}>
            <span>{name}</span>
            <span style={{ textAlign: 'right' }}>{sayNumber(split[key], 1)} h</span>
            <svg viewBox="0 0 100 10" preserveAspectRatio="none" style={{ height: 12, width: '100%', maxWidth: 320 }} aria-hidden="true">
              <rect className="range" width={whole > 0 ? (split[key] / whole) * 100 : 0} height={10} />
            </svg>
          </li>
        ))}
      </ul>
      <h2>The worst first</h2>
      {worst.length === 0 ? <p className="soft">No machine stood still in this period.</p> : null}
      <div className="wide">
        <table>
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
            {worst.slice(0, 40).map((row) => (
              <tr key={row.machineId}>
                <td>
                  <Link to={`/machines/${row.machineId}`}>{row.labelCode}</Link>
                  {row.standsOut ? <div className="strong">more often than chance explains</div> : null}
                  <div className="soft">
                    {row.warehouseName}
                    {row.stationName ? `, ${row.stationName}` : ''}
                  </div>
                </td>
                <td className="figure">{sayNumber(row.hoursStopped, 1)}</td>
                <td className="figure">{row.stoppages}</td>
                <td className="figure">{row.unplanned}</td>
                <td className="figure">
                  {row.meanHoursToBackInUse.value === null ? (
                    <span className="soft" title={row.meanHoursToBackInUse.hiddenReason ?? ''}>
                      n = {row.meanHoursToBackInUse.n}
                    </span>
                  ) : (
                    `${sayNumber(row.meanHoursToBackInUse.value, 1)} (${sayNumber(row.meanHoursToBackInUse.low ?? 0, 1)}–${sayNumber(row.meanHoursToBackInUse.high ?? 0, 1)})`
                  )}
                </td>
                <td className="figure">{row.cost === null ? '' : sayMoney(row.cost, totals.currency ?? 'EUR')}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <Measures review={review} />
    </>
  )
}

function List({
  query,
}: {
  query: { from: string; to: string; limit: number; warehouseId?: string; open?: 'true'; planned?: 'true' | 'false' }
}): ReactNode {
  const me = useMe()
  const list = useQuery({ queryKey: ['stoppages', query], queryFn: () => call('listStoppages', { query }) })
  const zoneOf = (id: string): string => me.warehouses.find((warehouse) => warehouse.id === id)?.zone ?? 'UTC'
  return (
    <>
      <h2 id="rows">
        One by one{query.planned === 'true' ? ', the planned ones' : query.planned === 'false' ? ', the unplanned ones' : ''}
      </h2>
      {list.isPending ? <Bones /> : null}
      {list.error ? <Fault error={list.error} again={() => void list.refetch()} /> : null}
      {list.data?.items.length === 0 ? <p className="soft">None in this period.</p> : null}
      <div className="wide">
        <table>
          <thead>
            <tr>
              <th>When</th>
              <th>Machine</th>
              <th>What</th>
              <th className="figure">Hours</th>
            </tr>
          </thead>
          <tbody>
            {list.data?.items.map((stoppage) => (
              <tr key={stoppage.id}>
                <td>{sayInstant(stoppage.failedAt, zoneOf(stoppage.warehouse.id))}</td>
                <td>
                  <Link to={`/machines/${stoppage.machine.id}`}>{stoppage.machine.labelCode}</Link>
                </td>
                <td>
                  {sayWord(stoppage.failureMode)}
                  {stoppage.componentKey ? `, ${sayWord(stoppage.componentKey)}` : ''}; cause {sayWord(stoppage.cause)}
                  {stoppage.planned ? '; planned' : ''}
                </td>
                <td className="figure">
                  {sayNumber(stoppage.durations.totalHours, 1)}
                  {stoppage.open ? ' so far' : ''}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </>
  )
}
