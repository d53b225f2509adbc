/** Registering by hand: a warehouse with its people, a type, machines of one type at once; 'not known' where people do not know. */
import { useQueryClient } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { useNavigate, useSearchParams } from 'react-router'
import { call } from '../client/api.js'
import { Fault, Field, Heading } from '../ui/parts.js'
import { RegisterMachines } from './register-machines.js'
import { useSubmit } from './use-submit.js'
import { usePeople } from './whole-lists.js'

export function Register(): ReactNode {
  const [search] = useSearchParams()
  return search.get('what') === 'machine' ? <RegisterMachines /> : <Warehouse />
}

function Warehouse(): ReactNode {
  const navigate = useNavigate()
  const queries = useQueryClient()
  const people = usePeople()
  const { error, busy, submit } = useSubmit(async (form) => {
    const starts = String(form.get('starts'))
    const ends = String(form.get('ends'))
    const days = form.getAll('day').map(Number)
    await call('createWarehouse', {
      body: {
        name: String(form.get('name')),
        zone: String(form.get('zone')),
        firstPersonId: String(form.get('first')) || null,
        secondPersonId: String(form.get('second')) || null,
        shifts: days.map((weekday) => ({ weekday, starts, ends })),
      },
    })
    await queries.invalidateQueries()
    await navigate('/set-up/register?what=machine')
  })
  const choices = people.data?.filter(({ email, disabled }) => email && !disabled) ?? []
  return (
    <>
      <Heading title="Register a warehouse">Register a warehouse</Heading>
      {error ? <Fault error={error} /> : null}
      <form onSubmit={submit}>
        <Field label="Name">{(id) => <input id={id} name="name" required maxLength={200} />}</Field>
        <Field label="Time zone" hint="Dates are local to the warehouse.">
          {(id) => (
            <select id={id} name="zone" defaultValue={Intl.DateTimeFormat().resolvedOptions().timeZone}>
              {Intl.supportedValuesOf('timeZone').map((zone) => (
                <option key={zone}>{zone}</option>
              ))}
            </select>
          )}
        </Field>
        <fieldset style={{ border: 0, padding: 0, margin: '0 0 16px' }}>
          <legend className="small strong">Working days</legend>
          {['Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun'].map((name, index) => (
            <label key={name} style={{ display: 'inline-block', marginRight: 16, fontWeight: 400 }}>
              <input type="checkbox" name="day" value={index + 1} defaultChecked={index < 5} style={{ minHeight: 0 }} /> {name}
            </label>
          ))}
        </fieldset>
        <Field label="Work begins">{(id) => <input id={id} name="starts" type="time" defaultValue="06:00" required />}</Field>
        <Field label="Work ends">{(id) => <input id={id} name="ends" type="time" defaultValue="14:00" required />}</Field>
        {(['first', 'second'] as const).map((key) => (
          <Field
            key={key}
            label={key === 'first' ? 'Reminders go to' : 'Second person'}
            hint={key === 'second' ? 'Told when mail to the first does not arrive, and when care is late.' : undefined}
          >
            {(id) => (
              <select id={id} name={key}>
                <option value="">not known yet</option>
                {choices.map((person) => (
                  <option key={person.id} value={person.id}>
                    {person.name}
                  </option>
                ))}
              </select>
            )}
          </Field>
        ))}
        <button className="main" disabled={busy}>
          Register
        </button>
      </form>
    </>
  )
}
