/** Takes a person's name away for good, after it was typed: this cannot be taken back. */
import { type FormEvent, type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { Fault, Field } from '../ui/parts.js'
import { useChange } from './use-change.js'

export function Anonymise({ person }: { person: Answer<'getPerson'> }): ReactNode {
  const { error, change } = useChange()
  const [asking, setAsking] = useState(false)
  function submit(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const name = String(new FormData(event.currentTarget).get('name'))
    void change(() => call('anonymisePerson', { params: { personId: person.id }, body: { name } }))
  }
  if (!asking) return <button onClick={() => setAsking(true)}>Take their name away …</button>
  return (
    <form className="note" onSubmit={submit}>
      {error ? <Fault error={error} /> : null}
      <p>
        On request of {person.name}: name, address, absences, mails and ways of signing in go for good, here and in the history. What they
        did stays, under ‘Former person’ and four signs, and the history still proves that nothing else was changed. Notes that people wrote
        in their own words are not searched. Copies that were made before, and backups, still hold the name.
      </p>
      <Field label={`Type the name to do it: ${person.name}`}>
        {(id) => <input id={id} name="name" required maxLength={200} autoComplete="off" />}
      </Field>
      <div className="row">
        <button className="main">Take the name away for good</button>
        <button type="button" onClick={() => setAsking(false)}>
          Leave it
        </button>
      </div>
    </form>
  )
}
