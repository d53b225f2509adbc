/** Here, today: the orders of the one who works, the rounds of their warehouses, and the way to a machine by its label. */
import type { ReactNode } from 'react'
import type { HandMe } from './hand.js'
import { usePage } from './kept.js'

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

export function sayAge(at: string | null): string {
  if (at === null) return ''
  const minutes = Math.round((Date.now() - Date.parse(at)) / 60_000)
  if (minutes < 2) return 'as of now'
  return minutes < 90 ? `as of ${minutes} minutes ago` : `as of ${Math.round(minutes / 60)} hours ago`
}

export function Today({ me }: { me: HandMe }): ReactNode {
  const technician = me.person.role !== 'instructed'
  return (
    <>
      <h1 tabIndex={-1}>Here, today</h1>
      <p className="soft">{me.person.name}</p>
      {technician ? <Orders /> : null}
      <h2>Rounds</h2>
      {me.warehouses.map(({ id, name }) => (
        <RoundLine key={id} warehouseId={id} name={name} />
      ))}
      {technician ? (
        <p style={{ marginTop: 32 }}>
          <a href="/">To the desk</a>
        </p>
      ) : null}
    </>
  )
}

function Orders(): ReactNode {
  const page = usePage<{ items: OrderLine[] }>('/api/v1/work-orders?mine=true&state=issued,accepted,under_way,waiting,returned&limit=100')
  if (!page.data) return page.error ? <p className="note">{page.error.message}</p> : <div className="bone" />
  return (
    <section aria-label="Your orders">
      <h2>
        Your orders <span className="soft small">{sayAge(page.at)}</span>
      </h2>
      {page.data.items.length === 0 ? <p className="soft">Nothing is issued to you.</p> : null}
      <ul className="plain">
        {page.data.items.map((order) => (
          <li key={order.id} className="part">
            <a className="button" href={`#/order/${order.id}`} style={{ textAlign: 'left' }}>
              <strong>{order.machine.labelCode}</strong> {order.station ? `${order.station.line} ${order.station.name}` : ''},{' '}
              {order.warehouse.name}
              <br />
              {order.taskNames.join('; ')}
              <br />
              <span className="small">
                {STATES[order.state] ?? order.state}, about {Math.round(order.minutesPlanned)} minutes{order.late ? ', late' : ''}
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
      ? 'nothing asked for this month'
      : `${page.data.openCount} open, ${page.data.doneCount} done`
    : page.error
      ? page.error.message
      : '…'
  return (
    <p>
      <a className="button" href={`#/round/${warehouseId}`}>
        {name}: {said}
      </a>
    </p>
  )
}
