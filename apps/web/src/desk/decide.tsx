/** What a manager can decide about one falling-due: an order for it, another day, or not this time. */
import { useQueryClient } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { type Answer, call } from '../client/api.js'
import { sayDay } from '../ui/format.js'
import { Fault, Field } from '../ui/parts.js'
import { LeaveOut } from './leave-out.js'
import { useMe, useToday } from './me.js'
import { useSubmit } from './use-submit.js'
import { useTechnicians } from './use-technicians.js'

type Item = Answer<'comingUp'>['items'][number]

export function Decide({ item, onDone }: { item: Item; onDone: () => void }): ReactNode {
  return (
    <>
      {item.workOrder ? <p className="soft">Order {item.workOrder.number} is for this already.</p> : null}
      <div className="two">
        {item.workOrder ? null : <Draft item={item} onDone={onDone} />}
        {item.safetyCheck ? <p className="soft">A safety check cannot be put off or left out.</p> : <PutOff item={item} onDone={onDone} />}
        {item.safetyCheck ? null : <LeaveOut item={item} onDone={onDone} />}
      </div>
    </>
  )
}

/** Closes before the lists are read anew: what was decided about is no longer among them. */
function useDecision(doing: (form: FormData) => Promise<unknown>, onDone: () => void) {
  const queries = useQueryClient()
  return useSubmit(async (form) => {
    await doing(form)
    onDone()
    await queries.invalidateQueries()
  })
}

function Draft({ item, onDone }: { item: Item; onDone: () => void }): ReactNode {
  const { technicians, error: unread } = useTechnicians(item.warehouseId, item.skill)
  const { error, busy, submit } = useDecision((form) => {
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
  return (
    <form onSubmit={submit} aria-label="Work order">
      <h3>A work order</h3>
      {(error ?? unread) ? <Fault error={error ?? unread} /> : null}
      <Field label="For" hint="With nobody named it is drafted; with a name it is issued at once.">
        {(id) => (
          <select id={id} name="technician">
            <option value="">nobody yet</option>
            {technicians?.map(({ id: personId, name }) => (
              <option key={personId} value={personId}>
                {name}
              </option>
            ))}
          </select>
        )}
      </Field>
      <Field label="Planned on">{(id) => <input id={id} name="plannedOn" type="date" />}</Field>
      <button className="main" disabled={busy}>
        Write the order
      </button>
    </form>
  )
}

function PutOff({ item, onDone }: { item: Item; onDone: () => void }): ReactNode {
  const me = useMe()
  const today = useToday(item.warehouseId)
  const { error, busy, submit } = useDecision((form) => {
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
      <button disabled={busy}>Put off</button>
    </form>
  )
}
