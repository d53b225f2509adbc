/** Who somebody is and where they serve: for adding them, and for changing them. */
import { type FormEvent, type ReactNode, useState } from 'react'
import { call } from '../client/api.js'
import { Fault, Field } from '../ui/parts.js'
import { useMe } from './me.js'
import { OpenedForm } from './part-form.js'
import { RecordFault, useRecordChange, type Words } from './record-change.js'
import { useChange } from './use-change.js'
import type { Person } from './whole-lists.js'

export const ROLES = {
  administrator: 'administrator',
  manager: 'manager',
  technician: 'technician',
  instructed: 'instructed person',
} as const
type Fields = Pick<Person, 'name' | 'email' | 'role' | 'electricallyQualified' | 'warehouseIds'>

const fieldsOf = (form: FormData): Fields => ({
  name: String(form.get('name')).trim(),
  email: String(form.get('email')).trim() || null,
  role: form.get('role') as Person['role'],
  electricallyQualified: form.get('electrical') === 'on',
  warehouseIds: form.getAll('warehouse').map(String).toSorted(),
})

function PersonFields({ person }: { person?: Fields }): ReactNode {
  const me = useMe()
  return (
    <>
      <Field label="Name">{(id) => <input id={id} name="name" required maxLength={200} defaultValue={person?.name} />}</Field>
      <Field label="E-mail" hint="Without one no reminder can reach them.">
        {(id) => <input id={id} name="email" type="email" maxLength={254} defaultValue={person?.email ?? ''} />}
      </Field>
      <Field label="Role">
        {(id) => (
          <select id={id} name="role" defaultValue={person?.role ?? 'technician'}>
            {Object.entries(ROLES).map(([value, words]) => (
              <option key={value} value={value}>
                {words}
              </option>
            ))}
          </select>
        )}
      </Field>
      <label className="tick">
        <input type="checkbox" name="electrical" defaultChecked={person?.electricallyQualified ?? false} /> Qualified electrical person
      </label>
      <fieldset className="days">
        <legend>Serves</legend>
        {me.warehouses.map(({ id, name }) => (
          <label key={id}>
            <input type="checkbox" name="warehouse" value={id} defaultChecked={person?.warehouseIds.includes(id) ?? false} /> {name}
          </label>
        ))}
      </fieldset>
    </>
  )
}

export function ChangePerson({ person, onEnd }: { person: Person; onEnd: () => void }): ReactNode {
  const me = useMe()
  const params = { personId: person.id }
  const { opened, now, error, keep } = useRecordChange<Fields>({
    record: sorted(person),
    read: async () => sorted(await call('getPerson', { params })),
    send: (body) => call('patchPerson', { params, body }),
    onEnd,
  })
  const nameOf = (id: string): string => me.warehouses.find((hall) => hall.id === id)?.name ?? 'another warehouse'
  const words: Words<Fields> = {
    name: ['Name', (name) => name],
    email: ['E-mail', (email) => email ?? 'none'],
    role: ['Role', (role) => ROLES[role]],
    electricallyQualified: ['Qualified electrical person', (is) => (is ? 'yes' : 'no')],
    warehouseIds: ['Serves', (ids) => ids.map(nameOf).join(', ') || 'no warehouse'],
  }
  return (
    <OpenedForm label={`Change ${person.name}`} onSubmit={(form) => keep(fieldsOf(form))}>
      <RecordFault error={error} opened={opened} now={now} words={words} />
      <PersonFields person={opened} />
      <p className="small soft">
        A new address ends links that went to the former one: invite them again. A new role holds from their next click on.
      </p>
      <div className="row">
        <button className="main">Keep</button>
        <button type="button" onClick={onEnd}>
          Leave as it was
        </button>
      </div>
    </OpenedForm>
  )
}

/** In one order, so that a list of the same warehouses is the same list. */
const sorted = (person: Person): Person => ({ ...person, warehouseIds: person.warehouseIds.toSorted() })

export function AddPerson(): ReactNode {
  const { error, change } = useChange()
  const [added, setAdded] = useState('')
  function add(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const element = event.currentTarget
    const form = new FormData(element)
    const password = String(form.get('password'))
    const body = { ...fieldsOf(form), ...(password ? { password } : {}) }
    setAdded('')
    void change(async () => {
      await call('createPerson', { body })
      element.reset()
      setAdded(body.name)
    })
  }
  return (
    <section aria-labelledby="add">
      <h2 id="add">Add a person</h2>
      {error ? <Fault error={error} /> : null}
      <form onSubmit={add} aria-labelledby="add">
        <PersonFields />
        <Field label="First password" hint="At least 10 characters. Left empty: invite them by mail once they are added.">
          {(id) => <input id={id} name="password" type="password" minLength={10} autoComplete="new-password" />}
        </Field>
        <button className="main">Add</button>
        <p role="status">{added ? `${added} is in the list above.` : ''}</p>
      </form>
    </section>
  )
}
