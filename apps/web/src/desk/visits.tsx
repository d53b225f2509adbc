/** Visits: one technician, one warehouse, one day, and the orders to be done in it; grouped by hand. */
import { useQuery } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { Link, useParams, useSearchParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayCount, sayDay, sayInstant } from '../ui/format.js'
import { More, useLongList } from '../ui/long-list.js'
import { Bones, Fault, Heading, NoPage } from '../ui/parts.js'
import { mayDecide, useMe, useToday, useZone } from './me.js'
import { NoWarehouseYet } from './no-warehouse.js'
import { NotIssued, VisitForm } from './visit-save.js'

type Visit = Answer<'listVisits'>['items'][number]

export function Visits(): ReactNode {
  const me = useMe()
  const [search, setSearch] = useSearchParams()
  const warehouseId = search.get('warehouseId') ?? ''
  const today = useToday(warehouseId)
  const past = search.get('past') === 'yes'
  const query = { limit: 200, ...(warehouseId ? { warehouseId } : {}), ...(past ? {} : { from: today }) }
  const visits = useLongList(['visits', query], (from) => call('listVisits', { query: { ...query, ...from } }))
  const put = (key: string, value: string): void => setSearch({ ...Object.fromEntries(search), [key]: value }, { replace: true })
  const planAt = warehouseId || me.warehouses[0]?.id
  return (
    <>
      <Heading title="Visits">Visits</Heading>
      <NoWarehouseYet />
      <div className="row no-print">
        <div>
          <label htmlFor="where">Warehouse</label>
          <select id="where" value={warehouseId} onChange={(event) => put('warehouseId', event.target.value)}>
            <option value="">all</option>
            {me.warehouses.map(({ id, name }) => (
              <option key={id} value={id}>
                {name}
              </option>
            ))}
          </select>
        </div>
        <div>
          <label htmlFor="when">Days</label>
          <select id="when" value={past ? 'yes' : ''} onChange={(event) => put('past', event.target.value)}>
            <option value="">from today on</option>
            <option value="yes">all</option>
          </select>
        </div>
        {mayDecide(me) && planAt ? (
          <Link className="button" to={`/visits/new?warehouseId=${planAt}`}>
            Plan a visit…
          </Link>
        ) : null}
      </div>
      {visits.isPending ? <Bones /> : null}
      {visits.error ? <Fault error={visits.error} again={() => void visits.refetch()} /> : null}
      {visits.data && visits.items.length === 0 ? (
        <p className="soft">No visit is planned. A visit puts the orders of one warehouse into one technician’s day, in walking order.</p>
      ) : null}
      {visits.items.length > 0 ? <List visits={visits.items} today={today} /> : null}
      <More list={visits} />
    </>
  )
}

function List({ visits, today }: { visits: Visit[]; today: string }): ReactNode {
  return (
    <ul className="plain sentences">
      {visits.map(({ id, visitOn, warehouse, technician, workOrderCount, minutesPlanned, note }) => (
        <li key={id}>
          <Link to={`/visits/${id}`}>
            {sayDay(visitOn, today)}, {warehouse.name}
          </Link>
          : {technician?.name ?? 'nobody yet'}, {sayCount(workOrderCount, 'order', 'orders')}, about {Math.round(minutesPlanned)} minutes.
          {note ? ` ${note}` : ''}
        </li>
      ))}
    </ul>
  )
}

export function NewVisit(): ReactNode {
  const me = useMe()
  const [search] = useSearchParams()
  const warehouseId = search.get('warehouseId') ?? ''
  const warehouse = me.warehouses.find(({ id }) => id === warehouseId)
  if (!warehouse)
    return (
      <>
        <Heading title="Plan a visit">Plan a visit</Heading>
        <p>
          The warehouse named is not one of yours. <Link to="/visits">Visits</Link>
        </p>
      </>
    )
  return (
    <>
      <Heading title="Plan a visit">Plan a visit to {warehouse.name}</Heading>
      <VisitForm warehouse={warehouse} visit={null} />
    </>
  )
}

export function OneVisit(): ReactNode {
  const me = useMe()
  const { visitId = '' } = useParams()
  const visit = useQuery({ queryKey: ['visit', visitId], queryFn: () => call('getVisit', { params: { visitId } }) })
  if (visit.isPending) return <Bones lines={8} />
  if (visit.error) return <NoPage title="Visit" error={visit.error} again={() => void visit.refetch()} />
  const warehouse = me.warehouses.find(({ id }) => id === visit.data.warehouse.id)
  return (
    <>
      <Heading title="Visit">
        Visit to {visit.data.warehouse.name}{' '}
        <span className="soft">{sayDay(visit.data.visitOn, warehouse?.today ?? visit.data.visitOn)}</span>
      </Heading>
      <NotIssued />
      {warehouse ? <VisitForm key={visit.data.id} warehouse={warehouse} visit={visit.data} /> : null}
      {mayDecide(me) && visit.data.technician ? <VisitLink visit={visit.data} /> : null}
    </>
  )
}

/** For a technician of another firm, who has no sign-in of their own. */
function VisitLink({ visit }: { visit: Answer<'getVisit'> }): ReactNode {
  const zone = useZone(visit.warehouse.id)
  const [link, setLink] = useState<Answer<'createVisitLink'> | null>(null)
  const [error, setError] = useState<unknown>(null)
  const make = (): void => void call('createVisitLink', { params: { visitId: visit.id } }).then(setLink, setError)
  return (
    <section aria-labelledby="visit-link">
      <h2 id="visit-link">For a visiting technician</h2>
      <p>
        A link that opens this visit’s orders for {visit.technician?.name}, without a sign-in, and ends on the night of the visit. It shows
        no prices and no other people’s records. Whoever has the link works under this name.
      </p>
      {link ? (
        <>
          <label htmlFor="visit-address">Shown once; pass it on to {visit.technician?.name} alone</label>
          <input id="visit-address" readOnly value={link.url} onFocus={(event) => event.target.select()} />
          <p className="soft small">Good until {sayInstant(link.expiresAt, zone)}. Moving the visit to another day moves its end.</p>
        </>
      ) : (
        <button onClick={make}>Make the link</button>
      )}
      {error ? <Fault error={error} /> : null}
    </section>
  )
}
