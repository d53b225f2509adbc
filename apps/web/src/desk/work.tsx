/** Who is at what: orders by state and person, and the month's round of each warehouse. */
import type { ReactNode } from 'react'
import { Link, useSearchParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayCount, sayDay, sayWord } from '../ui/format.js'
import { More, useLongList } from '../ui/long-list.js'
import { Bones, Fault, Heading } from '../ui/parts.js'
import { Issue } from './issue.js'
import { mayDecide, useMe, useToday } from './me.js'
import { NoWarehouseYet } from './no-warehouse.js'
import { RoundLine } from './round-link.js'

type Order = Answer<'listWorkOrders'>['items'][number]

/** Read newest first, as the server lists them. */
const PAST = new Set(['looked_over', 'cancelled'])
/** What is late stands first, what has no day last. */
const byDue = (a: Order, b: Order): number => (a.dueOn ?? '9999').localeCompare(b.dueOn ?? '9999') || a.number - b.number

export function Work(): ReactNode {
  const me = useMe()
  const [search, setSearch] = useSearchParams()
  const warehouseId = search.get('warehouseId') ?? ''
  const state = search.get('state') ?? 'drafted,issued,accepted,under_way,waiting,returned,done'
  const technicianId = search.get('technicianId')
  const query = { limit: 200, state, ...(warehouseId ? { warehouseId } : {}), ...(technicianId ? { technicianId } : {}) }
  const orders = useLongList(['work-orders', query], (from) => call('listWorkOrders', { query: { ...query, ...from } }))
  return (
    <>
      <Heading title="Work">Work</Heading>
      <NoWarehouseYet />
      <div className="row no-print">
        <div>
          <label htmlFor="where">Warehouse</label>
          <select
            id="where"
            value={warehouseId}
            onChange={(event) => setSearch({ ...Object.fromEntries(search), warehouseId: event.target.value })}
          >
            <option value="">all</option>
            {me.warehouses.map(({ id, name }) => (
              <option key={id} value={id}>
                {name}
              </option>
            ))}
          </select>
        </div>
        <div>
          <label htmlFor="state">Orders</label>
          <select id="state" value={state} onChange={(event) => setSearch({ ...Object.fromEntries(search), state: event.target.value })}>
            <option value="drafted,issued,accepted,under_way,waiting,returned,done">unfinished</option>
            <option value="drafted">drafted</option>
            <option value="issued,accepted,under_way,waiting,returned">at a technician</option>
            <option value="done">to look over</option>
            <option value="looked_over">looked over</option>
            <option value="cancelled">cancelled</option>
          </select>
        </div>
        <Link className="button" to={`/visits${warehouseId ? `?warehouseId=${warehouseId}` : ''}`}>
          Visits
        </Link>
      </div>
      {technicianId ? (
        <p>
          Only the orders of one person. <Link to={withoutPerson(search)}>Those of everybody</Link>
        </p>
      ) : null}
      {orders.isPending ? <Bones lines={10} /> : null}
      {orders.error ? <Fault error={orders.error} again={() => void orders.refetch()} /> : null}
      {orders.data ? <ByPerson orders={PAST.has(state) ? orders.items : [...orders.items].sort(byDue)} more={orders.hasNextPage} /> : null}
      <More list={orders} words="Show more orders" />
      {me.warehouses.length > 0 ? <h2>Rounds of this month</h2> : null}
      {me.warehouses
        .filter(({ id }) => warehouseId === '' || id === warehouseId)
        .map(({ id, name }) => (
          <RoundLine key={id} warehouseId={id} name={name} />
        ))}
    </>
  )
}

function withoutPerson(search: URLSearchParams): string {
  const { technicianId: _person, ...others } = Object.fromEntries(search)
  return `/work?${new URLSearchParams(others)}`
}

/** @param more some are not read yet, so that what is counted is not all */
function ByPerson({ orders, more }: { orders: Order[]; more: boolean }): ReactNode {
  if (orders.length === 0)
    return <p className="soft">No order is open. Orders are drafted by themselves when a technician’s care falls due.</p>
  const people = new Map<string, Order[]>()
  for (const order of orders)
    people.set(order.technician?.name ?? 'Nobody yet', [...(people.get(order.technician?.name ?? 'Nobody yet') ?? []), order])
  return [...people]
    .sort(([a], [b]) => (a === 'Nobody yet' ? -1 : b === 'Nobody yet' ? 1 : a.localeCompare(b)))
    .map(([name, list]) => (
      <section key={name} aria-label={name}>
        <h2>
          {name}
          {list[0]?.technician?.disabled ? ', who can no longer sign in' : ''}: {more ? 'at least ' : ''}
          {sayCount(list.length, 'order', 'orders')}, {Math.round(list.reduce((sum, { minutesPlanned }) => sum + minutesPlanned, 0))}{' '}
          minutes
        </h2>
        <div className="wide">
          <table className="stacked">
            <thead>
              <tr>
                <th className="figure">Order</th>
                <th>Machine</th>
                <th>Tasks</th>
                <th>State</th>
                <th>Due</th>
                <th className="figure">min</th>
                <th>
                  <span className="seen-by-readers">Issue</span>
                </th>
              </tr>
            </thead>
            <tbody>
              {list.map((order) => (
                <Row key={order.id} order={order} />
              ))}
            </tbody>
          </table>
        </div>
      </section>
    ))
}

function Row({ order }: { order: Order }): ReactNode {
  const me = useMe()
  const today = useToday(order.warehouse.id)
  return (
    <tr>
      <td className="figure" data-label="Order">
        <Link to={`/work/${order.id}`}>{order.number}</Link>
      </td>
      <td>
        {order.machine.labelCode}
        <div className="soft">
          {order.warehouse.name}
          {order.station ? `, ${order.station.line} ${order.station.name}` : ''}
        </div>
      </td>
      <td>{order.taskNames.join('; ')}</td>
      <td>
        {sayWord(order.state)}
        {order.waitingFor ? ` for ${sayWord(order.waitingFor)}` : ''}
      </td>
      <td data-label="Due">
        {sayDay(order.dueOn, today)}
        {order.late ? <div className="strong">late</div> : null}
      </td>
      <td className="figure min">{Math.round(order.minutesPlanned)}</td>
      <td>{mayDecide(me) && (order.state === 'drafted' || order.state === 'returned') ? <Issue order={order} /> : null}</td>
    </tr>
  )
}
