/** Closed days to be added: first what they move and what lies within them, then the button that adds them. */
import { type FormEvent, type ReactNode, useState } from 'react'
import { Link } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayCount, sayDay } from '../ui/format.js'
import { Fault, Field } from '../ui/parts.js'
import { Moves } from './plan-effect.js'
import { type Hall, useChange } from './use-change.js'

type Preview = Answer<'previewClosure'>
interface Days {
  fromDate: string
  toDate: string
  reason: string
}

function daysOf(form: FormData): Days {
  const fromDate = String(form.get('from'))
  return { fromDate, toDate: String(form.get('to')) || fromDate, reason: String(form.get('reason')) }
}

export function AddClosure({ hall }: { hall: Hall }): ReactNode {
  const [open, setOpen] = useState(false)
  return (
    <details open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>Add closed days…</summary>
      <Form key={hall.closures.length} hall={hall} onAdded={() => setOpen(false)} />
    </details>
  )
}

function Form({ hall, onAdded }: { hall: Hall; onAdded: () => void }): ReactNode {
  const { error, change } = useChange()
  const [shown, setShown] = useState<{ days: Days; preview: Preview } | null>(null)
  const [fault, setFault] = useState<unknown>(null)
  const [busy, setBusy] = useState(false)
  const params = { warehouseId: hall.id }
  function show(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const days = daysOf(new FormData(event.currentTarget))
    setBusy(true)
    setFault(null)
    call('previewClosure', { params, body: days })
      .then((preview) => setShown({ days, preview }), setFault)
      .finally(() => setBusy(false))
  }
  const add = (body: Days): void => void change(() => call('addClosure', { params, body }).then(onAdded))
  return (
    <form onSubmit={show} onChange={() => setShown(null)} style={{ marginTop: 12 }}>
      {(error ?? fault) ? <Fault error={error ?? fault} /> : null}
      <Field label="First day">{(id) => <input id={id} name="from" type="date" required />}</Field>
      <Field label="Last day" hint="Left empty: the same day.">
        {(id) => <input id={id} name="to" type="date" />}
      </Field>
      <Field label="Why">{(id) => <input id={id} name="reason" maxLength={200} />}</Field>
      <button className={shown ? '' : 'main'} disabled={busy}>
        {busy ? 'Computing …' : 'Show which dates move'}
      </button>
      {shown ? (
        <>
          <WhatMoves preview={shown.preview} today={hall.today} />
          <button type="button" className="main" style={{ marginTop: 12 }} onClick={() => add(shown.days)}>
            Add these closed days
          </button>
        </>
      ) : null}
    </form>
  )
}

function sayMoved({ movedCount, earlierCount, laterCount, medianDays, machineCount }: Preview): string {
  if (movedCount === 0) return `No date of the ${sayCount(machineCount, 'machine', 'machines')} here moves.`
  const ways = [...(earlierCount > 0 ? [`${earlierCount} earlier`] : []), ...(laterCount > 0 ? [`${laterCount} later`] : [])]
  const how = ways.length === 0 ? '' : `: ${ways.join(', ')}`
  const middle = medianDays === null ? '' : `, the middle one by ${sayCount(Math.abs(medianDays), 'day', 'days')}`
  return `${sayCount(movedCount, 'date moves', 'dates move')}${how}${middle}.`
}

function WhatMoves({ preview, today }: { preview: Preview; today: string }): ReactNode {
  const { machinesComputed, machineCount, moves, movedCount, openDueCount, openDues, visits, workOrders } = preview
  return (
    <div style={{ marginTop: 16 }}>
      <p className="strong" role="status">
        {sayMoved(preview)}
      </p>
      {machinesComputed < machineCount ? <p>Computed for {machinesComputed} of them; those retired or at no place have no date.</p> : null}
      {moves.length > 0 ? <Moves moves={moves} total={movedCount} today={today} /> : null}
      {openDueCount > 0 ? (
        <Within
          words={
            openDueCount === 1
              ? '1 thing is due within these days already. Its day stays: do it before, or put it off.'
              : `${sayCount(openDueCount, '', 'things')} are due within these days already. Their days stay: do them before, or put them off.`
          }
        >
          {openDues.map(({ occurrenceId, machineId, labelCode, taskName, dueOn }) => (
            <li key={occurrenceId}>
              <Link to={`/machines/${machineId}`}>{labelCode}</Link>: {taskName}, due {sayDay(dueOn, today)}
            </li>
          ))}
        </Within>
      ) : null}
      {visits.length > 0 ? (
        <Within
          words={`${sayCount(visits.length, 'visit is', 'visits are')} planned within these days, and stay${visits.length === 1 ? 's' : ''} so until moved.`}
        >
          {visits.map(({ id, visitOn, technicianName }) => (
            <li key={id}>
              <Link to={`/visits/${id}`}>{sayDay(visitOn, today)}</Link>, {technicianName ?? 'nobody yet'}
            </li>
          ))}
        </Within>
      ) : null}
      {workOrders.length > 0 ? (
        <Within words={`${sayCount(workOrders.length, 'work order is', 'work orders are')} planned within these days, in no visit.`}>
          {workOrders.map(({ id, number, plannedOn }) => (
            <li key={id}>
              <Link to={`/work/${id}`}>Order {number}</Link>, {sayDay(plannedOn, today)}
            </li>
          ))}
        </Within>
      ) : null}
    </div>
  )
}

/** What stays where it is although nobody works then. */
function Within({ words, children }: { words: string; children: ReactNode[] }): ReactNode {
  return (
    <details open={children.length <= 6}>
      <summary>{words}</summary>
      <ul className="plain sentences">{children}</ul>
    </details>
  )
}
