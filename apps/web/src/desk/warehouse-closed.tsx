/** Days on which a warehouse is closed, and its peaks. */
import type { FormEvent, ReactNode } from 'react'
import { call } from '../client/api.js'
import { AskOnce } from '../ui/ask-once.js'
import { sayDay, sayWord } from '../ui/format.js'
import { Fault, Field } from '../ui/parts.js'
import { AddClosure } from './closure-add.js'
import { type Hall, type HallPart, useChange } from './use-change.js'

export function Closures({ hall, decides }: HallPart): ReactNode {
  const { error, change } = useChange()
  const coming = hall.closures.filter(({ toDate }) => toDate >= hall.today)
  return (
    <section aria-labelledby="closed">
      <h2 id="closed">Closed days to come</h2>
      {error ? <Fault error={error} /> : null}
      {coming.length === 0 ? <p className="soft">None is entered.</p> : null}
      <ul className="plain sentences">
        {coming.map(({ id, fromDate, toDate, reason }) => (
          <li key={id}>
            {sayDay(fromDate, hall.today)}
            {fromDate === toDate ? '' : ` to ${sayDay(toDate, hall.today)}`}
            {reason ? `, ${reason}` : ''}{' '}
            {decides ? (
              <AskOnce
                open="Remove…"
                name={`${sayDay(fromDate, hall.today)}${reason ? `, ${reason}` : ''}`}
                confirm="Remove it"
                leave="Leave it"
                onDo={() => void change(() => call('removeClosure', { params: { warehouseId: hall.id, closureId: id } }))}
              >
                Packing counts as going on then, as on any other day: dates may move.
              </AskOnce>
            ) : null}
          </li>
        ))}
      </ul>
      {decides ? <AddClosure hall={hall} /> : null}
    </section>
  )
}

export function Peaks({ hall, decides }: HallPart): ReactNode {
  const { error, change } = useChange()
  function add(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const body = {
      name: String(form.get('name')),
      fromDate: String(form.get('from')),
      toDate: String(form.get('to')),
      usageMultiplier: Number(form.get('times')),
      bars: form.get('bars') as Hall['peaks'][number]['bars'],
    }
    void change(() => call('addPeak', { params: { warehouseId: hall.id }, body }))
  }
  return (
    <section aria-labelledby="peaks">
      <h2 id="peaks">Peaks</h2>
      {error ? <Fault error={error} /> : null}
      {hall.peaks.length === 0 ? <p className="soft">None is entered.</p> : null}
      <ul className="plain sentences">
        {hall.peaks.map(({ id, name, fromDate, toDate, usageMultiplier, bars }) => (
          <li key={id}>
            {name || 'A peak'}, {sayDay(fromDate, hall.today)} to {sayDay(toDate, hall.today)}: {usageMultiplier} times the usual work; bars{' '}
            {sayWord(bars)}.{' '}
            {decides ? (
              <AskOnce
                open="Remove…"
                name={`${name || 'a peak'}, ${sayDay(fromDate, hall.today)}`}
                confirm="Remove it"
                leave="Leave it"
                onDo={() => void change(() => call('removePeak', { params: { warehouseId: hall.id, peakId: id } }))}
              >
                Its days count as usual ones again, and nothing is barred on them: dates may move.
              </AskOnce>
            ) : null}
          </li>
        ))}
      </ul>
      {decides ? (
        <details>
          <summary>Add a peak…</summary>
          <form onSubmit={add}>
            <Field label="Name">{(id) => <input id={id} name="name" maxLength={100} />}</Field>
            <Field label="First day">{(id) => <input id={id} name="from" type="date" required />}</Field>
            <Field label="Last day">{(id) => <input id={id} name="to" type="date" required />}</Field>
            <Field label="Work, against the usual" unit="times">
              {(id) => <input id={id} name="times" type="number" step="0.1" min="0.1" max="20" defaultValue="1.5" required />}
            </Field>
            <Field label="What it bars" hint="Rounds of small outside care are never barred.">
              {(id) => (
                <select id={id} name="bars">
                  <option value="nothing">nothing</option>
                  <option value="no_visits">visits and technicians’ work</option>
                  <option value="short_care_only">work over 15 minutes</option>
                </select>
              )}
            </Field>
            <button className="main">Add</button>
          </form>
        </details>
      ) : null}
    </section>
  )
}
