/** Day, technician and orders of one visit; says what the day holds and whether it is an open one. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { useLocation, useNavigate } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { readPages } from '../client/pages.js'
import { ApiProblem, InWords } from '../client/problems.js'
import { sayCount, sayDay, sayWord } from '../ui/format.js'
import { Bones, Fault, Field } from '../ui/parts.js'
import { mayDecide, useMe } from './me.js'
import { useTechnicians } from './use-technicians.js'
import { byWalk, dayAnswer, type OrderLine, ORDERS_OPEN } from './visit-day.js'

type Visit = Answer<'getVisit'>

/** Taken along to the page of the visit. */
interface AfterSaving {
  refused: string[]
}

/** What could not be issued when the visit was saved. */
export function NotIssued(): ReactNode {
  const refused = (useLocation().state as AfterSaving | null)?.refused ?? []
  if (refused.length === 0) return null
  return (
    <div className="note alarmed" role="alert">
      <p>The visit is saved. These could not be issued:</p>
      <ul>
        {refused.map((words) => (
          <li key={words}>{words}</li>
        ))}
      </ul>
    </div>
  )
}

export function VisitForm({ warehouse, visit }: { warehouse: { id: string; today: string }; visit: Visit | null }): ReactNode {
  const orders = useQuery({
    queryKey: ['work-orders', 'for-visit', warehouse.id],
    queryFn: () =>
      readPages((from) => call('listWorkOrders', { query: { warehouseId: warehouse.id, state: ORDERS_OPEN, limit: 200, ...from } })),
  })
  if (orders.isPending) return <Bones lines={10} />
  if (orders.error) return <Fault error={orders.error} again={() => void orders.refetch()} />
  const finished = visit?.workOrders.filter(({ id }) => !orders.data.some((order) => order.id === id)) ?? []
  return <Form warehouse={warehouse} visit={visit} orders={[...orders.data].sort(byWalk)} finished={finished} />
}

function Form({
  warehouse,
  visit,
  orders,
  finished,
}: {
  warehouse: { id: string; today: string }
  visit: Visit | null
  orders: OrderLine[]
  finished: OrderLine[]
}): ReactNode {
  const me = useMe()
  const queries = useQueryClient()
  const navigate = useNavigate()
  const [visitOn, setVisitOn] = useState(visit?.visitOn ?? warehouse.today)
  const [technicianId, setTechnicianId] = useState(visit?.technician?.id ?? '')
  const [chosen, setChosen] = useState<ReadonlySet<string>>(
    () => new Set(orders.filter((order) => visit !== null && order.visitId === visit.id).map(({ id }) => id)),
  )
  const [note, setNote] = useState(visit?.note ?? '')
  const [error, setError] = useState<unknown>(null)
  const [busy, setBusy] = useState(false)
  const taken = orders.filter(({ id }) => chosen.has(id))
  const decides = mayDecide(me)
  const save = async (issue: boolean): Promise<void> => {
    const body = { technicianId: technicianId || null, visitOn, note, workOrderIds: [...chosen] }
    const saved = visit
      ? await call('patchVisit', { params: { visitId: visit.id }, body: { ...body, version: visit.version } })
      : await call('createVisit', { body: { ...body, warehouseId: warehouse.id } })
    const problems = issue && technicianId ? await issueAll(saved.workOrders, technicianId) : []
    await queries.invalidateQueries()
    // The visit stands: going on from its own page, nobody saves a second one beside it.
    if (problems.length > 0) await navigate(`/visits/${saved.id}`, { replace: true, state: { refused: problems } satisfies AfterSaving })
    else await navigate(visit ? `/visits?warehouseId=${warehouse.id}` : `/visits/${saved.id}`)
  }
  const act = (issue: boolean): void => {
    setBusy(true)
    setError(null)
    save(issue)
      .catch(setError)
      .finally(() => setBusy(false))
  }
  const submit = (event: FormEvent): void => {
    event.preventDefault()
    act(technicianId !== '')
  }
  return (
    <form onSubmit={submit}>
      {error ? <Fault error={error} /> : null}
      <fieldset className="plain" disabled={!decides}>
        <Field label="Day">
          {(id) => <input id={id} type="date" required value={visitOn} onChange={(event) => setVisitOn(event.target.value)} />}
        </Field>
        <Technicians warehouseId={warehouse.id} value={technicianId} onChange={setTechnicianId} />
        <DayLoad warehouseId={warehouse.id} day={visitOn} taken={taken} />
        <Choice orders={orders} chosen={chosen} onChange={setChosen} visitId={visit?.id ?? null} today={warehouse.today} />
        {finished.length > 0 ? (
          <p className="soft">Finished in it: {finished.map(({ machine }) => machine.labelCode).join(', ')}.</p>
        ) : null}
        <Field label="Note for the technician">
          {(id) => <textarea id={id} value={note} maxLength={4000} rows={2} onChange={(event) => setNote(event.target.value)} />}
        </Field>
      </fieldset>
      {decides ? (
        <div className="row no-print">
          <button className="main" disabled={busy}>
            {technicianId === '' ? 'Save the visit' : 'Save, and issue its orders'}
          </button>
          {technicianId === '' ? null : (
            <button type="button" disabled={busy} onClick={() => act(false)}>
              Save without issuing
            </button>
          )}
          <button type="button" onClick={() => print()}>
            Print
          </button>
        </div>
      ) : null}
    </form>
  )
}

/** One after the other, so that one refusal stops no other. @returns what could not be issued, in words */
async function issueAll(orders: readonly OrderLine[], technicianId: string): Promise<string[]> {
  const problems: string[] = []
  for (const { id, number, state, machine } of orders) {
    if (state !== 'drafted' && state !== 'returned') continue
    try {
      await call('issueWorkOrder', { params: { workOrderId: id }, body: { technicianId } })
    } catch (problem) {
      if (!(problem instanceof ApiProblem || problem instanceof InWords)) throw problem
      problems.push(`Order ${number}, ${machine.labelCode}: ${problem.message}`)
    }
  }
  return problems
}

function Technicians({ warehouseId, value, onChange }: { warehouseId: string; value: string; onChange: (id: string) => void }): ReactNode {
  const { technicians, error } = useTechnicians(warehouseId)
  if (error) return <Fault error={error} />
  return (
    <Field label="Technician" hint={technicians?.length === 0 ? 'No technician serves this warehouse yet; name one in Set-up.' : undefined}>
      {(id) => (
        <select id={id} value={value} onChange={(event) => onChange(event.target.value)}>
          <option value="">nobody yet</option>
          {technicians?.map(({ id: personId, name, electricallyQualified }) => (
            <option key={personId} value={personId}>
              {name}
              {electricallyQualified ? ', electrically qualified' : ''}
            </option>
          ))}
        </select>
      )}
    </Field>
  )
}

function DayLoad({ warehouseId, day, taken }: { warehouseId: string; day: string; taken: readonly OrderLine[] }): ReactNode {
  const hall = useQuery({ queryKey: ['warehouse', warehouseId], queryFn: () => call('getWarehouse', { params: { warehouseId } }) })
  const minutes = Math.round(taken.reduce((sum, order) => sum + order.minutesPlanned, 0))
  const answer = hall.data ? dayAnswer(hall.data, day) : null
  return (
    <p role="status">
      {sayCount(taken.length, 'order', 'orders')} on {sayCount(new Set(taken.map(({ machine }) => machine.id)).size, 'machine', 'machines')}
      , about {minutes} minutes{answer && answer.shiftMinutes > 0 ? ` of ${answer.shiftMinutes} in the shifts of that day` : ''}.{' '}
      {answer?.warning ? <span className="alarm">{answer.warning}</span> : null}
    </p>
  )
}

function Choice({
  orders,
  chosen,
  onChange,
  visitId,
  today,
}: {
  orders: readonly OrderLine[]
  chosen: ReadonlySet<string>
  onChange: (chosen: ReadonlySet<string>) => void
  visitId: string | null
  today: string
}): ReactNode {
  const toggle = (id: string): void => {
    const next = new Set(chosen)
    if (!next.delete(id)) next.add(id)
    onChange(next)
  }
  const free = orders.filter((order) => order.visitId === null || order.visitId === visitId)
  if (orders.length === 0)
    return <p className="soft">No order is open in this warehouse. Orders draft themselves when a technician’s care falls due.</p>
  return (
    <fieldset className="plain">
      <legend className="strong">Orders, in walking order</legend>
      <div className="row no-print">
        <button type="button" onClick={() => onChange(new Set(free.map(({ id }) => id)))}>
          Take all {free.length} that are in no other visit
        </button>
        <button type="button" disabled={chosen.size === 0} onClick={() => onChange(new Set())}>
          Take none
        </button>
      </div>
      {orders.map((order) => (
        <label key={order.id} className="box">
          <input type="checkbox" checked={chosen.has(order.id)} onChange={() => toggle(order.id)} />{' '}
          <span className="strong">{order.machine.labelCode}</span>{' '}
          {order.station ? `${order.station.line} ${order.station.name}` : 'at no station'}: {order.taskNames.join('; ')},{' '}
          {Math.round(order.minutesPlanned)} min, due {sayDay(order.dueOn, today)}
          {order.late ? ', late' : ''}
          {order.skill === 'electrical' ? ', qualified electrical person' : ''} <span className="soft">{sayWord(order.state)}</span>
          {order.visitId !== null && order.visitId !== visitId ? <span className="soft">, moves here from another visit</span> : null}
        </label>
      ))}
    </fieldset>
  )
}
