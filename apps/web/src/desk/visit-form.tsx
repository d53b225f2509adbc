/** Day, technician and orders of one visit; says what the day holds and whether it is an open one. */
import { useQuery } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { call } from '../client/api.js'
import { sayCount, sayDay, sayWord } from '../ui/format.js'
import { Fault, Field } from '../ui/parts.js'
import { mayDecide, useMe } from './me.js'
import { useTechnicians } from './use-technicians.js'
import { dayAnswer, type OrderLine } from './visit-day.js'

/** What is planned of a visit, and may be planned otherwise. */
export interface Planned {
  visitOn: string
  technicianId: string | null
  note: string
  /** Those that are not ended, in the order of their ids. */
  workOrderIds: string[]
}

export function VisitFields({
  warehouse,
  visitId,
  planned,
  orders,
  finished,
  fault,
  busy,
  onTouch,
  onSave,
}: {
  warehouse: { id: string; today: string }
  visitId: string | null
  /** What it begins with. */
  planned: Planned
  orders: OrderLine[]
  finished: readonly OrderLine[]
  fault: ReactNode
  busy: boolean
  onTouch?: () => void
  onSave: (typed: Planned, issue: boolean) => void
}): ReactNode {
  const [visitOn, setVisitOn] = useState(planned.visitOn)
  const [technicianId, setTechnicianId] = useState(planned.technicianId ?? '')
  const [chosen, setChosen] = useState<ReadonlySet<string>>(() => new Set(planned.workOrderIds))
  const [note, setNote] = useState(planned.note)
  const taken = orders.filter(({ id }) => chosen.has(id))
  const decides = mayDecide(useMe())
  const save = (issue: boolean): void =>
    onSave({ visitOn, technicianId: technicianId || null, note, workOrderIds: [...chosen].toSorted() }, issue)
  const submit = (event: FormEvent): void => {
    event.preventDefault()
    save(technicianId !== '')
  }
  return (
    <form onSubmit={submit} onChange={onTouch} aria-label="The visit">
      {fault}
      <fieldset className="plain" disabled={!decides}>
        <Field label="Day">
          {(id) => <input id={id} type="date" required value={visitOn} onChange={(event) => setVisitOn(event.target.value)} />}
        </Field>
        <Technicians warehouseId={warehouse.id} value={technicianId} onChange={setTechnicianId} />
        <DayLoad warehouseId={warehouse.id} day={visitOn} taken={taken} />
        <Choice
          orders={orders}
          chosen={chosen}
          onChange={(next) => {
            onTouch?.()
            setChosen(next)
          }}
          visitId={visitId}
          today={warehouse.today}
        />
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
            <button type="button" disabled={busy} onClick={() => save(false)}>
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
