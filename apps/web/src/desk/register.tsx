/** Registering by hand: a warehouse with its people, a type, machines of one type at once; 'not known' where people do not know. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { Link, useNavigate, useSearchParams } from 'react-router'
import { call } from '../client/api.js'
import { Fault, Field, Heading } from '../ui/parts.js'
import { useMe } from './me.js'

export function Register(): ReactNode {
  const [search] = useSearchParams()
  return search.get('what') === 'machine' ? <Machines /> : <Warehouse />
}

function useSubmit(doing: (form: FormData) => Promise<void>): {
  error: unknown
  busy: boolean
  submit: (event: FormEvent<HTMLFormElement>) => void
} {
  const [error, setError] = useState<unknown>(null)
  const [busy, setBusy] = useState(false)
  const submit = (event: FormEvent<HTMLFormElement>): void => {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    setBusy(true)
    setError(null)
    doing(form)
      .catch(setError)
      .finally(() => setBusy(false))
  }
  return { error, busy, submit }
}

function Warehouse(): ReactNode {
  const navigate = useNavigate()
  const queries = useQueryClient()
  const people = useQuery({ queryKey: ['people'], queryFn: () => call('listPeople', { query: { limit: 200 } }) })
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
  const choices = people.data?.items.filter(({ email, disabled }) => email && !disabled) ?? []
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

function Machines(): ReactNode {
  const me = useMe()
  const queries = useQueryClient()
  const types = useQuery({ queryKey: ['types'], queryFn: () => call('listMachineTypes') })
  const [made, setMade] = useState(0)
  const [newType, setNewType] = useState(false)
  const { error, busy, submit } = useSubmit(async (form) => {
    const labels = String(form.get('labels'))
      .split(/[\s,;]+/)
      .filter(Boolean)
    const machineTypeId = newType ? (await call('createMachineType', { body: typeOf(form) })).id : String(form.get('machineTypeId'))
    const commissionedOn = String(form.get('commissionedOn')) || null
    await call('createMachines', {
      body: {
        machines: labels.map((labelCode) => ({
          labelCode,
          serialNumber: labelCode,
          machineTypeId,
          commissionedOn,
          placement: { warehouseId: String(form.get('warehouseId')) },
        })),
      },
    })
    setMade(labels.length)
    await queries.invalidateQueries()
  })
  if (me.warehouses.length === 0)
    return (
      <p>
        First a warehouse: <Link to="/set-up/register">register one</Link>.
      </p>
    )
  const known = types.data?.items ?? []
  return (
    <>
      <Heading title="Register machines">Register machines of one type</Heading>
      {error ? <Fault error={error} /> : null}
      {made > 0 ? (
        <p className="note" role="status">
          {made} registered. Nothing is late before its first look. <Link to="/machines">See them</Link>
        </p>
      ) : null}
      <form onSubmit={submit}>
        <Field label="Warehouse">
          {(id) => (
            <select id={id} name="warehouseId">
              {me.warehouses.map((hall) => (
                <option key={hall.id} value={hall.id}>
                  {hall.name}
                </option>
              ))}
            </select>
          )}
        </Field>
        {newType || known.length === 0 ? <TypeFields /> : null}
        {known.length > 0 && !newType ? (
          <Field label="Type">
            {(id) => (
              <select id={id} name="machineTypeId">
                {known.map((type) => (
                  <option key={type.id} value={type.id}>
                    {type.name}
                  </option>
                ))}
              </select>
            )}
          </Field>
        ) : null}
        {known.length > 0 ? (
          <p>
            <button type="button" onClick={() => setNewType(!newType)}>
              {newType ? 'Choose a known type' : 'Another type…'}
            </button>
          </p>
        ) : null}
        <Field label="Label codes" hint="One a machine, parted by spaces or lines, as they stand on the labels.">
          {(id) => <textarea id={id} name="labels" required />}
        </Field>
        <Field label="Commissioned on" hint="Leave empty where it is not known.">
          {(id) => <input id={id} name="commissionedOn" type="date" />}
        </Field>
        <button className="main" disabled={busy} onClick={() => known.length === 0 && setNewType(true)}>
          Register
        </button>
      </form>
    </>
  )
}

function typeOf(form: FormData): Parameters<typeof call<'createMachineType'>>[1] extends { body: infer B } | undefined ? B : never {
  return {
    name: String(form.get('typeName')),
    drive: form.get('supply') === 'none' ? 'hand' : 'electric',
    supply: form.get('supply') as 'cord_and_plug',
    heater: form.get('heater') === 'on',
    shortestStripMm: Number(form.get('shortest')),
    longestStripMm: Number(form.get('longest')),
    counterKind: form.get('counter') as 'none',
  }
}

function TypeFields(): ReactNode {
  return (
    <>
      <Field label="Name of the type" hint="Your own name for it.">
        {(id) => <input id={id} name="typeName" required maxLength={200} />}
      </Field>
      <Field label="Supply">
        {(id) => (
          <select id={id} name="supply">
            <option value="cord_and_plug">cord and plug</option>
            <option value="wired_in">wired in</option>
            <option value="none">none: driven by hand</option>
          </select>
        )}
      </Field>
      <p>
        <label>
          <input type="checkbox" name="heater" style={{ minHeight: 0 }} /> It has a heater
        </label>
      </p>
      <Field label="Shortest strip" unit="mm">
        {(id) => <input id={id} name="shortest" inputMode="numeric" required defaultValue={150} />}
      </Field>
      <Field label="Longest strip" unit="mm">
        {(id) => <input id={id} name="longest" inputMode="numeric" required defaultValue={1200} />}
      </Field>
      <Field label="Counter">
        {(id) => (
          <select id={id} name="counter">
            <option value="none">none</option>
            <option value="strips">counts strips</option>
            <option value="metres">counts metres</option>
          </select>
        )}
      </Field>
    </>
  )
}
