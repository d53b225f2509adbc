/** A password set by an administrator, where no mail gets through to somebody. */
import { type FormEvent, type ReactNode, useState } from 'react'
import { call } from '../client/api.js'
import { Fault, Field } from '../ui/parts.js'
import { useChange } from './use-change.js'
import type { Person } from './whole-lists.js'

export function PersonPassword({ person }: { person: Person }): ReactNode {
  const { error, change } = useChange()
  const [open, setOpen] = useState(false)
  const [kept, setKept] = useState(false)
  function set(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const newPassword = String(new FormData(event.currentTarget).get('password'))
    const params = { personId: person.id }
    void change(() =>
      call('setPassword', { params, body: { newPassword } }).then(() => {
        setOpen(false)
        setKept(true)
      }),
    )
  }
  return (
    <>
      {kept ? <p role="status">Kept. {person.name}’s sessions have ended; tell them the new password in person.</p> : null}
      <details open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
        <summary>Set a password for {person.name}, where no mail gets through…</summary>
        {open ? (
          <form onSubmit={set} aria-label={`Password of ${person.name}`}>
            {error ? <Fault error={error} /> : null}
            <Field label="New password" hint="At least 10 characters, none of the common ones. It ends all their sessions.">
              {(id) => <input id={id} name="password" type="password" minLength={10} required autoComplete="new-password" />}
            </Field>
            <button>Set it</button>
          </form>
        ) : null}
      </details>
    </>
  )
}
