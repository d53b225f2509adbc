import { type FormEvent, type ReactNode, useState } from 'react'
import { ask } from './server.js'

export function SignIn({ waiting, onDone }: { waiting: number; onDone: () => void }): ReactNode {
  const [fault, setFault] = useState('')
  async function submit(event: FormEvent<HTMLFormElement>): Promise<void> {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    try {
      await ask('POST', '/api/v1/session', { email: String(form.get('email')), password: String(form.get('password')) })
      onDone()
    } catch (error) {
      setFault((error as Error).message)
    }
  }
  return (
    <main className="hand" style={{ paddingTop: 32 }}>
      <h1>Who is working?</h1>
      {waiting > 0 ? <p className="note">{waiting} entries are kept on this phone; they are sent once you have signed in.</p> : null}
      {fault ? (
        <p className="note alarmed" role="alert">
          {fault}
        </p>
      ) : null}
      <form onSubmit={(event) => void submit(event)}>
        <label htmlFor="email">E-mail</label>
        <input id="email" name="email" type="email" autoComplete="username" required />
        <label htmlFor="password" style={{ marginTop: 12 }}>
          Password
        </label>
        <input id="password" name="password" type="password" autoComplete="current-password" required />
        <button className="main" style={{ marginTop: 16 }}>
          Sign in
        </button>
      </form>
    </main>
  )
}
