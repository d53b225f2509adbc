import { type FormEvent, type ReactNode, useState } from 'react'
import { call } from '../client/api.js'
import { Forgotten } from './forgotten.js'
import { Fault, Field, Heading } from './parts.js'

export function SignIn({ onDone }: { onDone: () => unknown }): ReactNode {
  const [error, setError] = useState<unknown>(null)
  const [busy, setBusy] = useState(false)
  const [forgotten, setForgotten] = useState(() => new URLSearchParams(location.search).has('forgotten'))
  async function submit(event: FormEvent<HTMLFormElement>): Promise<void> {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    setBusy(true)
    setError(null)
    try {
      await call('signIn', { body: { email: String(form.get('email')), password: String(form.get('password')) } })
      await onDone()
    } catch (problem) {
      setError(problem)
    } finally {
      setBusy(false)
    }
  }
  if (forgotten) return <Forgotten onBack={() => setForgotten(false)} />
  return (
    <main className="hand" style={{ paddingTop: 48 }}>
      <Heading title="Sign in">Tapewarden</Heading>
      <p className="soft">Care of tape dispensers, remembered.</p>
      {error ? <Fault error={error} /> : null}
      <form onSubmit={(event) => void submit(event)}>
        <Field label="E-mail">{(id) => <input id={id} name="email" type="email" autoComplete="username" required />}</Field>
        <Field label="Password">{(id) => <input id={id} name="password" type="password" autoComplete="current-password" required />}</Field>
        <button className="main" disabled={busy}>
          {busy ? 'Signing in …' : 'Sign in'}
        </button>
      </form>
      <p>
        <button type="button" onClick={() => setForgotten(true)}>
          Forgotten the password?
        </button>
      </p>
    </main>
  )
}
