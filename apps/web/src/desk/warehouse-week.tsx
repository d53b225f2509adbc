/** The working week of a warehouse: its shifts. */
import type { FormEvent, ReactNode } from 'react'
import { call } from '../client/api.js'
import { Fault, Field } from '../ui/parts.js'
import { type HallPart, useChange } from './use-change.js'

const DAYS = ['Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday', 'Sunday']

export function Week({ hall, decides }: HallPart): ReactNode {
  const { error, change } = useChange()
  const params = { warehouseId: hall.id }
  const kept = hall.shifts.map(({ weekday, starts, ends }) => ({ weekday, starts: starts.slice(0, 5), ends: ends.slice(0, 5) }))
  function add(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const made = form
      .getAll('day')
      .map((day) => ({ weekday: Number(day), starts: String(form.get('starts')), ends: String(form.get('ends')) }))
    void change(() => call('putShifts', { params, body: { shifts: [...kept, ...made] } }))
  }
  return (
    <section aria-labelledby="week">
      <h2 id="week">Working week</h2>
      {error ? <Fault error={error} /> : null}
      {kept.length === 0 ? <p className="note">No shift is entered, so no day is a working day and no date can be planned.</p> : null}
      <ul className="plain sentences">
        {kept.map((shift, index) => (
          <li key={`${shift.weekday}${shift.starts}`}>
            {DAYS[shift.weekday - 1]} {shift.starts} to {shift.ends}{' '}
            {decides ? (
              <button
                className="small"
                aria-label={`Remove ${DAYS[shift.weekday - 1]} ${shift.starts} to ${shift.ends}`}
                onClick={() =>
                  void change(() => call('putShifts', { params, body: { shifts: kept.filter((_, other) => other !== index) } }))
                }
              >
                Remove
              </button>
            ) : null}
          </li>
        ))}
      </ul>
      {decides ? (
        <details>
          <summary>Add a shift…</summary>
          <form onSubmit={add}>
            <fieldset className="days">
              <legend>On</legend>
              {DAYS.map((day, index) => (
                <label key={day}>
                  <input type="checkbox" name="day" value={index + 1} /> {day}
                </label>
              ))}
            </fieldset>
            <Field label="From">{(id) => <input id={id} name="starts" type="time" required />}</Field>
            <Field label="To" hint="An end before the start is on the next day.">
              {(id) => <input id={id} name="ends" type="time" required />}
            </Field>
            <button className="main">Add</button>
          </form>
        </details>
      ) : null}
    </section>
  )
}
