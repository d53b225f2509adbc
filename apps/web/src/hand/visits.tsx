/** The visits of the one who works: what is planned for which day, and the machines of a visit in walking order. */
import { type ReactNode, useEffect } from 'react'
import { sayDay } from '../ui/format.js'
import type { HandMe } from './hand.js'
import { HandHeading, NoPage } from './heading.js'
import { bringPages, type Page, useKeeping, usePage } from './kept.js'
import { sayAge } from './age.js'
import { standingOf } from './overlay.js'

interface VisitLine {
  id: string
  visitOn: string
  note: string
  warehouse: { id: string; name: string }
  workOrderCount: number
  minutesPlanned: number
}
interface VisitPage extends VisitLine {
  workOrders: {
    id: string
    state: string
    machine: { labelCode: string; typeName: string }
    station: { name: string; line: string; walkingOrder: number } | null
    taskNames: string[]
    minutesPlanned: number
  }[]
}

const FINISHED = new Set(['done', 'looked_over', 'cancelled'])

const firstToday = (me: HandMe): string => me.warehouses.map((warehouse) => warehouse.today).sort()[0] ?? ''

export const visitsPath = (me: HandMe): string => `/api/v1/visits?technicianId=${me.person.id}&from=${firstToday(me)}&limit=50`
export const useVisits = (me: HandMe): Page<{ items: VisitLine[] }> => usePage<{ items: VisitLine[] }>(visitsPath(me))

export function Visits({ page, me }: { page: Page<{ items: VisitLine[] }>; me: HandMe }): ReactNode {
  const today = firstToday(me)
  const { store, online } = useKeeping()
  const items = page.data?.items
  useEffect(() => {
    if (items && online)
      void bringPages(
        store,
        items.map(({ id }) => `/api/v1/visits/${id}`),
      )
  }, [items, online, store])
  if (!items || items.length === 0) return null
  return (
    <section aria-label="Your visits">
      <h2>Your visits</h2>
      <ul className="plain lines">
        {items.map(({ id, visitOn, warehouse, workOrderCount, minutesPlanned }) => (
          <li key={id}>
            <a href={`#/visit/${id}`}>
              <strong>
                {visitOn === today ? 'Today' : sayDay(visitOn, today)}, {warehouse.name}
              </strong>
              <span>
                {workOrderCount} {workOrderCount === 1 ? 'order' : 'orders'}, about {Math.round(minutesPlanned)} minutes
              </span>
            </a>
          </li>
        ))}
      </ul>
    </section>
  )
}

export function VisitPageOf({ visitId }: { visitId: string }): ReactNode {
  const page = usePage<VisitPage>(`/api/v1/visits/${visitId}`)
  const { store, online, notIn } = useKeeping()
  const orders = page.data?.workOrders
  useEffect(() => {
    if (orders && online)
      void bringPages(
        store,
        orders.filter(({ state }) => !FINISHED.has(state) && state !== 'drafted').map(({ id }) => `/api/v1/work-orders/${id}`),
      )
  }, [orders, online, store])
  if (!page.data) return page.error ? <NoPage title="Visit" error={page.error} /> : <div className="bone" />
  const { visitOn, warehouse, workOrders, note } = page.data
  const kept = notIn(page.at)
  const standing = workOrders.map((order) => ({ ...order, state: standingOf(order, kept).state }))
  const walk = standing.sort((a, b) => (a.station?.walkingOrder ?? Infinity) - (b.station?.walkingOrder ?? Infinity))
  const left = walk.filter(({ state }) => !FINISHED.has(state))
  return (
    <>
      <HandHeading title={`Visit to ${warehouse.name}`}>Visit to {warehouse.name}</HandHeading>
      <p className="soft">
        {sayDay(visitOn, visitOn)}; {left.length} of {walk.length} still to do. {sayAge(page.at)}
      </p>
      {note ? <p className="note">{note}</p> : null}
      <ol className="plain lines">
        {walk.map(({ id, state, machine, station, taskNames, minutesPlanned }) => (
          <li key={id}>
            <a href={`#/order/${id}`}>
              <strong>
                {machine.labelCode} {station ? `at ${station.line} ${station.name}` : ''}
              </strong>
              <span>{taskNames.join('; ')}</span>
              <span className="soft small">
                {FINISHED.has(state) ? state.replaceAll('_', ' ') : `about ${Math.round(minutesPlanned)} minutes`}
                {state === 'drafted' ? '; not issued to you yet' : ''}
              </span>
            </a>
          </li>
        ))}
      </ol>
    </>
  )
}
