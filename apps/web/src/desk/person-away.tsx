/** When somebody is away and who covers; written down here, and taken back. */
import type { FormEvent, ReactNode } from 'react'
import { call } from '../client/api.js'
import { sayDay } from '../ui/format.js'
import { Fault, Field } from '../ui/parts.js'
import { useToday } from './me.js'
import { useChange } from './use-change.js'
import type { Person } from './whole-lists.js'

export function IsAway({ person, all, onGone }: { person: Person; all: readonly Person[]; onGone: () => void }): ReactNode {
  const { error, change } = useChange()
  const today = useToday()
  const takeBack = (absenceId: string): void =>
    void change(() => call('removeAbsence', { params: { personId: person.id, absenceId } }).then(onGone))
  return (
    <>
      {error ? <Fault error={error} /> : null}
      {person.absences.map(({ id, fromDate, toDate, coverPersonId }) => (
        <p key={id}>
          Away {sayDay(fromDate, today)} to {sayDay(toDate, today)}; {all.find((other) => other.id === coverPersonId)?.name ?? 'nobody'}{' '}
          covers.{' '}
          <button
            className="small"
            aria-label={`Take back: ${person.name} away ${sayDay(fromDate, today)} to ${sayDay(toDate, today)}`}
            onClick={() => takeBack(id)}
          >
            Take back
          </button>
        </p>
      ))}
    </>
  )
}

export function Away({ person, all }: { person: Person; all: readonly Person[] }): ReactNode {
  const { error, change } = useChange()
  function add(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const body = { fromDate: String(form.get('from')), toDate: String(form.get('to')), coverPersonId: String(form.get('cover')) || null }
    void change(() => call('addAbsence', { params: { personId: person.id }, body }))
  }
  return (
    <form onSubmit={add} aria-label={`${person.name} is away`}>
      {error ? <Fault error={error} /> : null}
      <Field label="Away from">{(id) => <input id={id} name="from" type="date" required />}</Field>
      <Field label="To">{(id) => <input id={id} name="to" type="date" required />}</Field>
      <Field label="Covered by">
        {(id) => (
          <select id={id} name="cover">
            <option value="">nobody</option>
            {all
              .filter(({ id: other, disabled }) => other !== person.id && !disabled)
              .map((other) => (
                <option key={other.id} value={other.id}>
                  {other.name}
                </option>
              ))}
          </select>
        )}
      </Field>
      <button>Write it down</button>
    </form>
  )
}
