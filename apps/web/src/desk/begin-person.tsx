/** One of the two people of a warehouse: somebody who is here, somebody new, or not known yet. */
import { type ReactNode, useState } from 'react'
import { Field } from '../ui/parts.js'
import { useMe } from './me.js'

const NEW = 'new'
type Named = { personId: string } | { name: string; email: string } | null

/** What was chosen, as the api takes it. */
export function personOf(form: FormData, name: string): Named {
  const chosen = String(form.get(name) ?? '')
  if (chosen === NEW) return { name: String(form.get(`${name}Name`)), email: String(form.get(`${name}Email`)) }
  return chosen === '' ? null : { personId: chosen }
}

export function BeginPerson({
  name,
  label,
  hint,
  choices,
}: {
  name: string
  label: string
  hint?: string
  choices: { id: string; name: string }[]
}): ReactNode {
  const me = useMe()
  const [chosen, setChosen] = useState('')
  return (
    <>
      <Field label={label} hint={hint}>
        {(id) => (
          <select id={id} name={name} value={chosen} onChange={(event) => setChosen(event.target.value)}>
            <option value="">don’t know yet</option>
            {choices.map((person) => (
              <option key={person.id} value={person.id}>
                {person.id === me.person.id ? `${person.name} (you)` : person.name}
              </option>
            ))}
            {me.person.role === 'administrator' ? <option value={NEW}>somebody new…</option> : null}
          </select>
        )}
      </Field>
      {chosen === NEW ? (
        <>
          <Field label="Their name">{(id) => <input id={id} name={`${name}Name`} required maxLength={200} autoComplete="off" />}</Field>
          <Field label="Their e-mail" hint="An invitation goes there.">
            {(id) => <input id={id} name={`${name}Email`} type="email" required maxLength={254} autoComplete="off" />}
          </Field>
        </>
      ) : null}
    </>
  )
}
