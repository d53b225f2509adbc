/** Here, today: the way to a machine by its label, the orders of the one who works, the rounds of their warehouses. */
import { type ReactNode, useEffect } from 'react'
import type { HandMe } from './hand.js'
import { HandHeading } from './heading.js'
import { sayAge } from './age.js'
import { ByLabel } from './by-label.js'
import { bringPages, type Page, useKeeping, usePage } from './kept.js'
import { askEarlyNextTime } from './early.js'
import { standingOf } from './overlay.js'
import { useRound } from './round-use.js'
import { useVisits, Visits, visitsPath } from './visits.js'

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

const MY_ORDERS = '/api/v1/work-orders?mine=true&state=issued,accepted,under_way,waiting,returned&limit=100'
/** What is only brought along lets what is shown go first on a slow network. */
const BRING_AFTER_MS = 1000

/** Finished and handed back are so only on this phone: the server’s list has them no more, or as one that came back. */
const STATES: Readonly<Record<string, string>> = {
  issued: 'to accept',
  accepted: 'to begin',
  under_way: 'under way',
  waiting: 'waiting',
  returned: 'came back',
  done: 'finished',
}

function sayState({ state, kept }: ReturnType<typeof standingOf>): string {
  const words = kept && state === 'returned' ? 'handed back' : (STATES[state] ?? state)
  return kept ? `${words}, kept on this phone` : words
}

export function Today({ me }: { me: HandMe }): ReactNode {
  const technician = me.person.role !== 'instructed'
  useEffect(() => askEarlyNextTime([visitsPath(me)]), [me])
  return (
    <>
      <HandHeading title="Here, today">Here, today</HandHeading>
      <p className="soft">{me.person.name}</p>
      {technician ? <ByLabel warehouseIds={me.warehouses.map(({ id }) => id)} /> : null}
      {technician ? <VisitsAndOrders me={me} /> : <RoundsAndWays me={me} technician={false} />}
    </>
  )
}

/** All at once, when all is there: nothing jumps under a finger. */
function VisitsAndOrders({ me }: { me: HandMe }): ReactNode {
  const orders = usePage<{ items: OrderLine[] }>(MY_ORDERS)
  const visits = useVisits(me)
  if (isOpen(orders) || isOpen(visits)) return <div className="bone tall" />
  return (
    <>
      <Visits page={visits} me={me} />
      <Orders page={orders} />
      <RoundsAndWays me={me} technician />
    </>
  )
}
const isOpen = ({ data, error }: Pick<Page<unknown>, 'data' | 'error'>): boolean => data === null && error === null

function RoundsAndWays({ me, technician }: { me: HandMe; technician: boolean }): ReactNode {
  return (
    <>
      <Rounds me={me} />
      <Ways me={me} technician={technician} />
    </>
  )
}

function Rounds({ me }: { me: HandMe }): ReactNode {
  return (
    <section aria-label="Rounds">
      <h2>Rounds of this month</h2>
      {me.warehouses.map(({ id, name }) => (
        <RoundLine key={id} warehouseId={id} name={name} />
      ))}
      {me.warehouses.length === 0 ? <p className="soft">You serve no warehouse yet; a manager names them.</p> : null}
    </section>
  )
}

/** What is rarely needed, at the foot. */
function Ways({ me, technician }: { me: HandMe; technician: boolean }): ReactNode {
  if (me.tabletName !== null || me.visitId !== null) return null
  return (
    <nav className="part stack" aria-label="More">
      <a className="button" href="#/code">
        Your short code for shared tablets
      </a>
      {me.person.role === 'manager' || me.person.role === 'administrator' ? (
        <a className="button" href="#/shared-tablet">
          Make this a shared tablet
        </a>
      ) : null}
      {technician ? (
        <a className="button" href="/">
          To the desk
        </a>
      ) : null}
    </nav>
  )
}

function Orders({ page }: { page: Page<{ items: OrderLine[] }> }): ReactNode {
  const { store, online, notIn } = useKeeping()
  const items = page.data?.items
  useEffect(() => {
    if (!items || !online) return
    const later = setTimeout(
      () =>
        void bringPages(
          store,
          items.map(({ id }) => `/api/v1/work-orders/${id}`),
        ),
      BRING_AFTER_MS,
    )
    return () => clearTimeout(later)
  }, [items, online, store])
  if (!items) return <p className="note">{page.error?.message}</p>
  const kept = notIn(page.at)
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
                {order.warehouse.name}; {sayState(standingOf(order, kept))}; about {Math.round(order.minutesPlanned)} minutes
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
  const { page, round } = useRound(warehouseId)
  const said = round
    ? round.lines.length === 0
      ? 'nothing is asked for this month'
      : `${round.openCount} machines still to do, ${round.doneCount} done`
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
