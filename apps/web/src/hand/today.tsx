/** Here, today: the way to a machine by its label, the orders of the one who works, the rounds of their warehouses. */
import { type ReactNode, useEffect } from 'react'
import type { HandMe } from './hand.js'
import { HandHeading } from './heading.js'
import { sayAge } from './age.js'
import { ByLabel } from './by-label.js'
import { bringPages, useKeeping, usePage } from './kept.js'
import { Visits } from './visits.js'

interface OrderLine {
  id: string
  number: number
  state: string
  machine: { labelCode: string; typeName: string }
  warehouse: { name: string }
  station: { name: string; line: string } | null
  taskNames: string[]
  minutesPlanned: number
  dueOn: string | null
  late: boolean
}

const STATES: Readonly<Record<string, string>> = {
  issued: 'to accept',
  accepted: 'to begin',
  under_way: 'under way',
  waiting: 'waiting',
  returned: 'came back',
}

export function Today({ me }: { me: HandMe }): ReactNode {
  const technician = me.person.role !== 'instructed'
  return (
    <>
      <HandHeading title="Here, today">Here, today</HandHeading>
      <p className="soft">{me.person.name}</p>
      {technician ? <ByLabel warehouseIds={me.warehouses.map(({ id }) => id)} /> : null}
      {technician ? <Visits me={me} /> : null}
      {technician ? <Orders /> : null}
      <section aria-label="Rounds">
        <h2>Rounds of this month</h2>
        {me.warehouses.map(({ id, name }) => (
          <RoundLine key={id} warehouseId={id} name={name} />
        ))}
        {me.warehouses.length === 0 ? <p className="soft">You serve no warehouse yet; a manager names them.</p> : null}
      </section>
      {technician ? (
        <p className="part">
          <a href="/">To the desk</a>
        </p>
      ) : null}
    </>
  )
}

function Orders(): ReactNode {
  const page = usePage<{ items: OrderLine[] }>('/api/v1/work-orders?mine=true&state=issued,accepted,under_way,waiting,returned&limit=100')
  const { store, online } = useKeeping()
  const items = page.data?.items
  useEffect(() => {
    if (!items || !online) return
    void bringPages(
      store,
      items.map(({ id }) => `/api/v1/work-orders/${id}`),
    )
  }, [items, online, store])
  if (!items) return page.error ? <p className="note">{page.error.message}</p> : <div className="bone" />
  return (
    <section aria-label="Your orders">
      <h2>
        Your orders <span className="soft small">{sayAge(page.at)}</span>
      </h2>
      {items.length === 0 ? <p className="soft">Nothing is issued to you.</p> : null}
      <ul className="plain lines">
        {items.map((order) => (
          <li key={order.id}>
            <a href={`#/order/${order.id}`}>
              <strong>
                {order.machine.labelCode} {order.station ? `at ${order.station.line} ${order.station.name}` : ''}
              </strong>
              <span>{order.taskNames.join('; ')}</span>
              <span className="soft small">
                {order.warehouse.name}; {STATES[order.state] ?? order.state}; about {Math.round(order.minutesPlanned)} minutes
                {order.late ? '; late' : ''}
              </span>
            </a>
          </li>
        ))}
      </ul>
    </section>
  )
}

function RoundLine({ warehouseId, name }: { warehouseId: string; name: string }): ReactNode {
  const page = usePage<{ openCount: number; doneCount: number; lines: unknown[] }>(`/api/v1/rounds?warehouseId=${warehouseId}`)
  const said = page.data
    ? page.data.lines.length === 0
      ? 'nothing is asked for this month'
      : `${page.data.openCount} machines still to do, ${page.data.doneCount} done`
    : page.error
      ? page.error.message
      : '…'
  return (
    <ul className="plain lines">
      <li>
        <a href={`#/round/${warehouseId}`}>
          <strong>{name}</strong>
          <span>{said}</span>
        </a>
      </li>
    </ul>
  )
}
