/** Which machines there are and where: by label, by line and walking order. */
import { useInfiniteQuery } from '@tanstack/react-query'
import { type Dispatch, memo, type ReactNode, type SetStateAction, useState } from 'react'
import { Link, useNavigate, useSearchParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayCount, sayDay, sayRange, sayWord } from '../ui/format.js'
import { Bones, Fault, Heading } from '../ui/parts.js'
import { FleetChanges } from './fleet-changes.js'
import { Chosen } from './machines-chosen.js'
import { mayDecide, useMe } from './me.js'
import { NoWarehouseYet } from './no-warehouse.js'
import { SavedViews } from './saved-views.js'

type Row = Answer<'listMachines'>['items'][number]

export function Machines(): ReactNode {
  const me = useMe()
  const [search, setSearch] = useSearchParams()
  const change = (key: string, value: string): void => {
    const next = new URLSearchParams(search)
    if (value) next.set(key, value)
    else next.delete(key)
    setSearch(next, { replace: true })
  }
  const query = {
    limit: 100,
    order: (search.get('order') ?? 'walking') as 'walking' | 'label' | 'due',
    ...(search.get('warehouseId') ? { warehouseId: search.get('warehouseId') as string } : {}),
    ...(search.get('search') ? { search: search.get('search') as string } : {}),
    ...(search.get('status') ? { status: search.get('status') as string } : {}),
  }
  const machines = useInfiniteQuery({
    queryKey: ['machines', query],
    initialPageParam: '',
    queryFn: ({ pageParam }) => call('listMachines', { query: { ...query, ...(pageParam ? { cursor: pageParam } : {}) } }),
    getNextPageParam: (page) => page.nextCursor,
  })
  const rows = machines.data?.pages.flatMap(({ items }) => items) ?? []
  const [chosen, setChosen] = useState<ReadonlySet<string>>(new Set())
  const [newest, setNewest] = useState<Answer<'changeMachines'> | null>(null)
  const ids = rows.flatMap(({ id }) => (chosen.has(id) ? [id] : []))
  return (
    <>
      <Heading title="Machines">Machines</Heading>
      <NoWarehouseYet />
      <div className="row no-print" role="search">
        <div>
          <label htmlFor="find">Label or serial number</label>
          <input
            id="find"
            key={query.search}
            defaultValue={query.search}
            onBlur={(event) => change('search', event.target.value)}
            onKeyDown={(event) => event.key === 'Enter' && change('search', event.currentTarget.value)}
          />
        </div>
        <div>
          <label htmlFor="where">Warehouse</label>
          <select id="where" value={query.warehouseId ?? ''} onChange={(event) => change('warehouseId', event.target.value)}>
            <option value="">all</option>
            {me.warehouses.map(({ id, name }) => (
              <option key={id} value={id}>
                {name}
              </option>
            ))}
          </select>
        </div>
        <div>
          <label htmlFor="status">Status</label>
          <select id="status" value={query.status ?? ''} onChange={(event) => change('status', event.target.value)}>
            <option value="">any</option>
            {['in_service', 'on_the_shelf', 'at_the_bench', 'away_for_repair', 'tagged_out', 'not_found', 'retired'].map((status) => (
              <option key={status} value={status}>
                {sayWord(status)}
              </option>
            ))}
          </select>
        </div>
        <div>
          <label htmlFor="order">In order of</label>
          <select id="order" value={query.order} onChange={(event) => change('order', event.target.value)}>
            <option value="walking">the walk</option>
            <option value="label">label</option>
            <option value="due">next due</option>
          </select>
        </div>
        {mayDecide(me) ? (
          <Link className="button" to="/set-up/register?what=machine">
            Register machines
          </Link>
        ) : null}
        {mayDecide(me) ? (
          <Link className="button" to="/imports?kind=machines">
            From a file…
          </Link>
        ) : null}
      </div>
      {machines.isPending ? <Bones lines={12} /> : null}
      {machines.error ? <Fault error={machines.error} again={() => void machines.refetch()} /> : null}
      <SavedViews place="machines" />
      {mayDecide(me) ? <FleetChanges newest={newest} /> : null}
      {ids.length > 0 ? (
        <Chosen
          ids={ids}
          onNone={() => setChosen(new Set())}
          onChanged={(change) => {
            setNewest(change)
            setChosen(new Set())
          }}
        />
      ) : null}
      {machines.data ? <List rows={rows} chosen={chosen} onChosen={mayDecide(me) ? setChosen : null} /> : null}
      {machines.hasNextPage ? (
        <button onClick={() => void machines.fetchNextPage()} disabled={machines.isFetchingNextPage}>
          {machines.isFetchingNextPage ? 'Loading …' : 'Show more'}
        </button>
      ) : null}
    </>
  )
}

interface Choosing {
  chosen: ReadonlySet<string>
  /** null: only looked at. */
  onChosen: Dispatch<SetStateAction<ReadonlySet<string>>> | null
}

function List({ rows, chosen, onChosen }: { rows: Row[] } & Choosing): ReactNode {
  const me = useMe()
  if (rows.length === 0) return <p className="soft">No machine is registered that fits this.</p>
  const todayOf = (id: string | undefined): string =>
    me.warehouses.find((warehouse) => warehouse.id === id)?.today ?? me.serverTime.slice(0, 10)
  return (
    <>
      <p className="soft small">{sayCount(rows.length, 'machine', 'machines')} shown.</p>
      <div className="wide">
        <table className="stacked">
          <thead>
            <tr>
              {onChosen ? (
                <th>
                  <input
                    type="checkbox"
                    aria-label="Choose all that are shown"
                    checked={rows.every(({ id }) => chosen.has(id))}
                    onChange={(event) => onChosen(new Set(event.target.checked ? rows.map(({ id }) => id) : []))}
                  />
                </th>
              ) : null}
              <th>Label</th>
              <th>Where</th>
              <th className="less">Type</th>
              <th>Status</th>
              <th>Next</th>
              <th className="figure">Open</th>
            </tr>
          </thead>
          <tbody>
            {rows.map((row) => (
              <Line key={row.id} row={row} today={todayOf(row.warehouse?.id)} chosen={chosen.has(row.id)} onChosen={onChosen} />
            ))}
          </tbody>
        </table>
      </div>
    </>
  )
}

/** Drawn again only where something of it changed: with two thousand on the page, a tick draws one. */
const Line = memo(function Line({
  row,
  today,
  chosen,
  onChosen,
}: {
  row: Row
  today: string
  chosen: boolean
  onChosen: Choosing['onChosen']
}): ReactNode {
  const navigate = useNavigate()
  return (
    <tr
      onClick={(event) => {
        if (event.target instanceof HTMLElement && !event.target.closest('a, input, label')) void navigate(`/machines/${row.id}`)
      }}
      style={{ cursor: 'pointer' }}
    >
      {onChosen ? <Choose row={row} chosen={chosen} onChosen={onChosen} /> : null}
      <td className="whole">
        <Link to={`/machines/${row.id}`}>{row.labelCode}</Link>
      </td>
      <td>
        {row.warehouse?.name ?? 'nowhere'}
        <div className="soft">{row.station ? `${row.station.line} ${row.station.name}` : 'at no station'}</div>
      </td>
      <td className="less">{row.machineType.name}</td>
      <td>
        {sayWord(row.status)}
        {row.stopped ? <div className="alarm">stands still</div> : null}
        {row.doNotUse ? <div className="alarm">do not use until checked</div> : null}
      </td>
      <td>
        {row.next ? (
          `${row.next.taskName}: ${row.next.dueOn ? sayDay(row.next.dueOn, today) : sayRange(row.next, today)}`
        ) : (
          <span className="soft">no date</span>
        )}
      </td>
      <td className="figure" data-label="Open">
        {row.openOccurrences}
        {row.lateOccurrences > 0 ? <div className="strong">{row.lateOccurrences} late</div> : null}
      </td>
    </tr>
  )
})

function Choose({ row, chosen, onChosen }: { row: Row; chosen: boolean; onChosen: NonNullable<Choosing['onChosen']> }): ReactNode {
  const choose = (on: boolean): void =>
    onChosen((before) => {
      const next = new Set(before)
      if (on) next.add(row.id)
      else next.delete(row.id)
      return next
    })
  return (
    <td className="choose">
      <input type="checkbox" aria-label={`Choose ${row.labelCode}`} checked={chosen} onChange={(event) => choose(event.target.checked)} />
    </td>
  )
}
