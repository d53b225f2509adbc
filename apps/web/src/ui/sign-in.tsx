import { type FormEvent, type ReactNode, useEffect, useRef, useState } from 'react'
import { call } from '../client/api.js'
import { ApiProblem } from '../client/problems.js'
import { Forgotten } from './forgotten.js'
import { Fault, Field, Heading } from './parts.js'
import { SignInElsewhere } from './sign-in-elsewhere.js'
import { answerByPasskey, passkeysHere } from './passkeys.js'

interface Entered {
  email: string
  password: string
}

/** @param again where a sign-in ended in the middle of something */
export function SignIn({ onDone, again = false }: { onDone: () => unknown; again?: boolean }): ReactNode {
  const [error, setError] = useState<unknown>(null)
  const [busy, setBusy] = useState(false)
  /** Kept in this page alone, for the second question. */
  const [entered, setEntered] = useState<Entered | null>(null)
  const [forgotten, setForgotten] = useState(() => new URLSearchParams(location.search).has('forgotten'))
  async function run(entering: () => Promise<boolean>): Promise<void> {
    setBusy(true)
    setError(null)
    try {
      if (await entering()) await onDone()
    } catch (problem) {
      setError(problem)
    } finally {
      setBusy(false)
    }
  }
  /** @returns false where a second question follows */
  async function enter(body: Entered & { code?: string }): Promise<boolean> {
    try {
      await call('signIn', { body })
      return true
    } catch (problem) {
      if (!(problem instanceof ApiProblem) || problem.code !== 'SECOND_FACTOR_NEEDED') throw problem
      setEntered(body)
      return false
    }
  }
  async function byPasskey(): Promise<boolean> {
    const { options } = await call('passkeySignInOptions')
    await call('signInByPasskey', { body: { credential: await answerByPasskey(options) } })
    return true
  }
  if (forgotten) return <Forgotten onBack={() => setForgotten(false)} />
  return (
    <main className="hand" style={{ paddingTop: 48 }}>
      <Heading title="Sign in">Tapewarden</Heading>
      {again ? (
        <p className="note" role="status">
          Your sign-in has ended. Sign in again: what you typed is still there, and what you sent last may need to be sent again.
        </p>
      ) : (
        <p className="soft">Care of tape dispensers, remembered.</p>
      )}
      {error ? <Fault error={error} /> : null}
      {entered === null ? (
        <ByPassword busy={busy} onSubmit={(body) => void run(() => enter(body))} />
      ) : (
        <SecondQuestion busy={busy} onSubmit={(code) => void run(() => enter({ ...entered, code }))} />
      )}
      {entered === null ? <SignInElsewhere onError={setError} /> : null}
      {passkeysHere() ? (
        <p style={{ marginTop: 12 }}>
          <button type="button" disabled={busy} onClick={() => void run(byPasskey)}>
            Sign in with a passkey
          </button>
        </p>
      ) : null}
      <p style={{ marginTop: 12 }}>
        {entered === null ? (
          <button type="button" onClick={() => setForgotten(true)}>
            Forgotten the password?
          </button>
        ) : (
          <button type="button" onClick={() => setEntered(null)}>
            Back
          </button>
        )}
      </p>
    </main>
  )
}

function ByPassword({ busy, onSubmit }: { busy: boolean; onSubmit: (body: Entered) => void }): ReactNode {
  function submit(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    onSubmit({ email: String(form.get('email')), password: String(form.get('password')) })
  }
  return (
    <form onSubmit={submit}>
      <Field label="E-mail">{(id) => <input id={id} name="email" type="email" autoComplete="username" required />}</Field>
      <Field label="Password">{(id) => <input id={id} name="password" type="password" autoComplete="current-password" required />}</Field>
      <button className="main" disabled={busy}>
        {busy ? 'Signing in …' : 'Sign in'}
      </button>
    </form>
  )
}

function SecondQuestion({ busy, onSubmit }: { busy: boolean; onSubmit: (code: string) => void }): ReactNode {
  const box = useRef<HTMLInputElement>(null)
  // The one thing to do here, after a press of the button before it.
  useEffect(() => box.current?.focus(), [])
  function submit(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    onSubmit(String(new FormData(event.currentTarget).get('code')))
  }
  return (
    <form onSubmit={submit}>
      <Field
        label="Code"
        hint="The six digits that your authenticator shows now. Without your phone: one of your recovery codes; without those, an administrator can help."
      >
        {(id) => (
          <input
            ref={box}
            id={id}
            name="code"
            autoComplete="one-time-code"
            autoCapitalize="none"
            spellCheck={false}
            required
            maxLength={40}
          />
        )}
      </Field>
      <button className="main" disabled={busy}>
        {busy ? 'Signing in …' : 'Go on'}
      </button>
    </form>
  )
}
