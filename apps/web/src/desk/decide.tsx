/** What a manager can decide about one falling-due: an order for it, or another day. */
import { useQueryClient } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { sayDay } from '../ui/format.js'
import { Fault, Field } from '../ui/parts.js'
import { useMe, useToday } from './me.js'
import { usePeople } from './whole-lists.js'

type Item = Answer<'comingUp'>['items'][number]

export function Decide({ item, onDone }: { item: Item; onDone: () => void }): ReactNode {
  return (
    <div className="two">
      {item.workOrder ? <p className="soft">Order {item.workOrder.number} is for this already.</p> : <Draft item={item} onDone={onDone} />}
      {item.safetyCheck ? <p className="soft">A safety check cannot be put off or skipped.</p> : <PutOff item={item} onDone={onDone} />}
    </div>
  )
}

function useDecision(doing: (form: FormData) => Promise<unknown>, onDone: () => void) {
  const queries = useQueryClient()
  const [error, setError] = useState<unknown>(null)
  const submit = (event: FormEvent<HTMLFormElement>): void => {
    event.preventDefault()
    setError(null)
    doing(new FormData(event.currentTarget))
      .then(() => queries.invalidateQueries())
      .then(onDone, setError)
  }
  return { error, submit }
}

function Draft({ item, onDone }: { item: Item; onDone: () => void }): ReactNode {
  const people = usePeople()
  const { error, submit } = useDecision((form) => {
    const technicianId = String(form.get('technician')) || null
    return call('createWorkOrder', {
      body: {
        machineId: item.machineId,
        occurrenceIds: [item.occurrenceId ?? ''],
        technicianId,
        plannedOn: String(form.get('plannedOn')) || null,
        issue: technicianId !== null,
      },
    })
  }, onDone)
  const able = (people.data ?? []).filter(
    ({ role, disabled, warehouseIds, electricallyQualified }) =>
      role === 'technician' &&
      !disabled &&
      warehouseIds.includes(item.warehouseId) &&
      (item.skill !== 'electrical' || electricallyQualified),
  )
  return (
    <form onSubmit={submit} aria-label="Work order">
      <h3>A work order</h3>
      {error ? <Fault error={error} /> : null}
      <Field label="For" hint="With nobody named it is drafted; with a name it is issued at once.">
        {(id) => (
          <select id={id} name="technician">
            <option value="">nobody yet</option>
            {able.map(({ id: personId, name }) => (
              <option key={personId} value={personId}>
                {name}
              </option>
            ))}
          </select>
        )}
      </Field>
      <Field label="Planned on">{(id) => <input id={id} name="plannedOn" type="date" />}</Field>
      <button className="main">Write the order</button>
    </form>
  )
}

function PutOff({ item, onDone }: { item: Item; onDone: () => void }): ReactNode {
  const me = useMe()
  const today = useToday(item.warehouseId)
  const { error, submit } = useDecision((form) => {
    const limit = String(form.get('newHardLimitOn') ?? '')
    return call('putOffOccurrence', {
      params: { occurrenceId: item.occurrenceId ?? '' },
      body: { until: String(form.get('until')), reason: String(form.get('reason')), ...(limit ? { newHardLimitOn: limit } : {}) },
    })
  }, onDone)
  return (
    <form onSubmit={submit} aria-label="Put off">
      <h3>Put off</h3>
      {error ? <Fault error={error} /> : null}
      <Field
        label="Until"
        hint={
          item.hardLimitOn ? `Hard limit ${sayDay(item.hardLimitOn, today)}; past it only an administrator, with a new limit.` : undefined
        }
      >
        {(id) => <input id={id} name="until" type="date" required min={today} />}
      </Field>
      <Field label="Reason">{(id) => <input id={id} name="reason" required maxLength={1000} />}</Field>
      {me.person.role === 'administrator' ? (
        <Field label="New hard limit, where it goes past the old one">{(id) => <input id={id} name="newHardLimitOn" type="date" />}</Field>
      ) : null}
      <button>Put off</button>
    </form>
  )
}
