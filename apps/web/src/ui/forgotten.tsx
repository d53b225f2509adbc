import { type FormEvent, type ReactNode, useState } from 'react'
import { call } from '../client/api.js'
import { Fault, Field, Heading } from './parts.js'

/** The answer is the same whether the address is known or not. */
export function Forgotten({ onBack }: { onBack: () => void }): ReactNode {
  const [error, setError] = useState<unknown>(null)
  const [asked, setAsked] = useState<string | null>(null)
  async function submit(event: FormEvent<HTMLFormElement>): Promise<void> {
    event.preventDefault()
    const email = String(new FormData(event.currentTarget).get('email'))
    setError(null)
    await call('askForReset', { body: { email } }).then(() => setAsked(email), setError)
  }
  return (
    <main className="hand" style={{ paddingTop: 48 }}>
      <Heading title="Forgotten password">Forgotten password</Heading>
      {error ? <Fault error={error} /> : null}
      {asked === null ? (
        <form onSubmit={(event) => void submit(event)}>
          <Field label="E-mail">
            {(id) => <input id={id} name="email" type="email" autoComplete="username" required maxLength={254} />}
          </Field>
          <button className="main">Send me a link</button>
        </form>
      ) : (
        <p role="status">
          If {asked} is known here, a mail with a link is on its way. The link works once, for one hour. Nothing came? Look among unwanted
          mail, or ask your administrator for an invitation.
        </p>
      )}
      <p>
        <button type="button" onClick={onBack}>
          Back to sign-in
        </button>
      </p>
    </main>
  )
}
