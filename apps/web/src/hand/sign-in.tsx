import { type FormEvent, type ReactNode, useState } from 'react'
import { answerByPasskey, passkeysHere } from '../ui/passkeys.js'
import { ask, SignedOut } from './server.js'

interface Entered {
  email: string
  password: string
}

async function byPasskey(): Promise<void> {
  const { options } = await ask<{ options: Record<string, unknown> }>('POST', '/api/v1/session/passkey/options')
  await ask('POST', '/api/v1/session/passkey', { credential: await answerByPasskey(options) })
}

export function SignIn({ waiting, onDone }: { waiting: number; onDone: () => void }): ReactNode {
  const [fault, setFault] = useState('')
  /** Kept in this page alone, for the second question. */
  const [entered, setEntered] = useState<Entered | null>(null)
  async function run(entering: () => Promise<unknown>, body?: Entered): Promise<void> {
    setFault('')
    try {
      await entering()
      onDone()
    } catch (error) {
      if (error instanceof SignedOut && error.code === 'SECOND_FACTOR_NEEDED' && body) setEntered(body)
      else setFault(error instanceof SignedOut ? error.detail : (error as Error).message)
    }
  }
  function submit(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const body = entered ?? { email: String(form.get('email')), password: String(form.get('password')) }
    void run(() => ask('POST', '/api/v1/session', entered ? { ...body, code: String(form.get('code')) } : body), body)
  }
  return (
    <main className="hand" style={{ paddingTop: 32 }}>
      <h1>Who is working?</h1>
      {waiting > 0 ? (
        <p className="note">
          {waiting === 1 ? '1 entry is' : `${waiting} entries are`} kept on this phone, to be sent once whoever typed{' '}
          {waiting === 1 ? 'it' : 'them'} has signed in. If you cannot sign in any more, tell a manager; nothing is lost until then.
        </p>
      ) : null}
      {fault ? (
        <p className="note alarmed" role="alert">
          {fault}
        </p>
      ) : null}
      <form onSubmit={submit}>
        {entered ? (
          <>
            <label htmlFor="code">The six digits that your authenticator shows, or a recovery code</label>
            <input id="code" name="code" autoComplete="one-time-code" autoCapitalize="none" required maxLength={40} />
          </>
        ) : (
          <>
            <label htmlFor="email">E-mail</label>
            <input id="email" name="email" type="email" autoComplete="username" required />
            <label htmlFor="password" style={{ marginTop: 12 }}>
              Password
            </label>
            <input id="password" name="password" type="password" autoComplete="current-password" required />
          </>
        )}
        <button className="main" style={{ marginTop: 16 }}>
          {entered ? 'Go on' : 'Sign in'}
        </button>
      </form>
      {entered ? (
        <button style={{ marginTop: 16 }} onClick={() => setEntered(null)}>
          Back
        </button>
      ) : null}
      {passkeysHere() ? (
        <button style={{ marginTop: 16 }} onClick={() => void run(byPasskey)}>
          Sign in with a passkey
        </button>
      ) : null}
    </main>
  )
}
