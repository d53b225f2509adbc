/** What a link from a mail opens: an invitation or a forgotten password. It works once, and needs no sign-in. */
import { type FormEvent, type ReactNode, useEffect, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { Bones, Fault, Field, Heading } from './parts.js'

/** The secret leaves the address bar, and so the history, as soon as it was read. */
function takeToken(): string {
  const token = location.hash.slice(1)
  if (token !== '') history.replaceState(null, '', location.pathname)
  return token
}

export function ChoosePassword(): ReactNode {
  const [token] = useState(takeToken)
  const [link, setLink] = useState<Answer<'lookAtAccountLink'> | null>(null)
  const [error, setError] = useState<unknown>(null)
  const [done, setDone] = useState(false)
  useEffect(() => {
    call('lookAtAccountLink', { body: { token: token === '' ? '-' : token } }).then(setLink, setError)
  }, [token])
  return (
    <main className="hand" style={{ paddingTop: 48 }}>
      <Heading title="Choose a password">Choose a password</Heading>
      {error ? <Fault error={error} /> : null}
      {!link && !error ? <Bones lines={4} /> : null}
      {done ? (
        <>
          <p>Your password is set. Earlier sessions have ended.</p>
          <a className="button main" href="/">
            Sign in
          </a>
        </>
      ) : null}
      {link && !done ? <Choose link={link} token={token} onDone={() => setDone(true)} onError={setError} /> : null}
      {!link && error ? <a href="/?forgotten">Ask for a new password</a> : null}
    </main>
  )
}

function Choose({
  link,
  token,
  onDone,
  onError,
}: {
  link: Answer<'lookAtAccountLink'>
  token: string
  onDone: () => void
  onError: (error: unknown) => void
}): ReactNode {
  const [busy, setBusy] = useState(false)
  async function submit(event: FormEvent<HTMLFormElement>): Promise<void> {
    event.preventDefault()
    const newPassword = String(new FormData(event.currentTarget).get('password'))
    setBusy(true)
    onError(null)
    await call('useAccountLink', { body: { token, newPassword } }).then(onDone, onError)
    setBusy(false)
  }
  return (
    <form onSubmit={(event) => void submit(event)}>
      <p>
        {link.personName}, at {link.organisationName}
        {link.kind === 'invitation' ? ': welcome.' : '.'} You sign in as {link.email}.
      </p>
      <input type="hidden" name="username" autoComplete="username" value={link.email ?? ''} readOnly />
      <Field label="New password" hint="At least 10 characters; a few words that belong to nobody else do well.">
        {(id) => <input id={id} name="password" type="password" autoComplete="new-password" required minLength={10} maxLength={200} />}
      </Field>
      <button className="main" disabled={busy}>
        {busy ? 'Setting it …' : 'Set the password'}
      </button>
    </form>
  )
}
