/** One's own account: where one is signed in, the password, one-time codes and passkeys. */
import { useQuery } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { call } from '../client/api.js'
import { sayInstant } from '../ui/format.js'
import { Bones, Fault, Field, Heading } from '../ui/parts.js'
import { Codes } from './account-codes.js'
import { Passkeys } from './account-passkeys.js'
import { useMe } from './me.js'
import { useChange } from './use-change.js'

const ZONE = Intl.DateTimeFormat().resolvedOptions().timeZone

export function Account(): ReactNode {
  const me = useMe()
  return (
    <>
      <Heading title="Your account">Your account</Heading>
      <p>
        {me.person.name}, {me.person.email ?? 'without an address'}; {me.person.role} at {me.organisation.name}.
      </p>
      <Sessions />
      <ShortCode setAt={me.person.shortCodeSetAt} />
      <Password />
      <Factors />
    </>
  )
}

/** Enough to tell one's own devices apart. */
function deviceOf(userAgent: string): string {
  const system = /Android|iPhone|iPad|Windows|Macintosh|Linux/.exec(userAgent)?.[0]
  const program = /(?:Edg|OPR|Firefox|Chrome|Safari)(?=\/)/.exec(userAgent)?.[0]
  const name = { Edg: 'Edge', OPR: 'Opera' }[program ?? ''] ?? program
  return name || system ? `${name ?? 'A browser'}${system ? ` on ${system}` : ''}` : userAgent.slice(0, 60) || 'A program without a name'
}

function Sessions(): ReactNode {
  const { error, change } = useChange()
  const sessions = useQuery({ queryKey: ['sessions'], queryFn: () => call('listSessions') })
  const others = sessions.data?.items.filter(({ current }) => !current) ?? []
  const end = (sessionId: string) => call('endSession', { params: { sessionId } })
  return (
    <section aria-labelledby="sessions">
      <h2 id="sessions">Where you are signed in</h2>
      {error ? <Fault error={error} /> : null}
      {sessions.isPending ? <Bones lines={3} /> : null}
      {sessions.error ? <Fault error={sessions.error} again={() => void sessions.refetch()} /> : null}
      <ul className="plain sentences">
        {sessions.data?.items.map(({ id, userAgent, createdAt, lastSeenAt, expiresAt, unusedEndsAt, current }) => (
          <li key={id}>
            {deviceOf(userAgent)}
            {current ? <strong> (this one)</strong> : null}
            <span className="soft">
              {' '}
              since {sayInstant(createdAt, ZONE)}, last seen {sayInstant(lastSeenAt, ZONE)}; ends on {sayInstant(expiresAt, ZONE)}
              {unusedEndsAt < expiresAt ? `, without use already on ${sayInstant(unusedEndsAt, ZONE)}` : ''}.{' '}
            </span>
            {current ? null : <button onClick={() => void change(() => end(id))}>End it</button>}
          </li>
        ))}
      </ul>
      {others.length > 1 ? (
        <button onClick={() => void change(() => Promise.all(others.map(({ id }) => end(id))))}>End the other {others.length}</button>
      ) : null}
    </section>
  )
}

function ShortCode({ setAt }: { setAt: string | null }): ReactNode {
  const { error, change } = useChange()
  const [done, setDone] = useState('')
  const put = (code: string | null): void => {
    setDone('')
    void change(async () => {
      await call('setShortCode', { body: { code } })
      setDone(code === null ? 'You have no code any more.' : 'This code counts from now on.')
    })
  }
  function set(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const code = String(new FormData(event.currentTarget).get('code'))
    event.currentTarget.reset()
    put(code)
  }
  return (
    <section aria-labelledby="short-code">
      <h2 id="short-code">Short code for shared tablets</h2>
      <p>
        On a shared tablet you say with it, before each sheet, that it is you who works.{' '}
        {setAt ? `You have one since ${sayInstant(setAt, ZONE)}.` : 'You have none yet.'}
      </p>
      {error ? <Fault error={error} /> : null}
      {done ? <p role="status">{done}</p> : null}
      <form onSubmit={set}>
        <Field label={setAt ? 'New code' : 'Code'} hint="4 to 8 digits; no row, pair or year.">
          {(id) => <input id={id} name="code" inputMode="numeric" pattern="[0-9]{4,8}" required maxLength={8} autoComplete="off" />}
        </Field>
        <button>Set it</button>
      </form>
      {setAt ? <button onClick={() => put(null)}>Have no code any more</button> : null}
    </section>
  )
}

function Factors(): ReactNode {
  const factors = useQuery({ queryKey: ['factors'], queryFn: () => call('myFactors') })
  if (factors.error) return <Fault error={factors.error} again={() => void factors.refetch()} />
  if (!factors.data) return <Bones lines={6} />
  return (
    <>
      <Codes factors={factors.data} />
      <Passkeys factors={factors.data} />
    </>
  )
}

function Password(): ReactNode {
  const { error, change } = useChange()
  const [done, setDone] = useState(false)
  function set(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = event.currentTarget
    const [currentPassword, newPassword] = ['current', 'new'].map((name) => String(new FormData(form).get(name))) as [string, string]
    setDone(false)
    void change(async () => {
      await call('changePassword', { body: { currentPassword, newPassword } })
      form.reset()
      setDone(true)
    })
  }
  return (
    <section aria-labelledby="password">
      <h2 id="password">Password</h2>
      {error ? <Fault error={error} /> : null}
      {done ? <p role="status">The new password counts from now on. Your other sessions have ended.</p> : null}
      <form onSubmit={set}>
        <Field label="Present password">
          {(id) => <input id={id} name="current" type="password" autoComplete="current-password" required maxLength={200} />}
        </Field>
        <Field label="New password" hint="At least 10 characters; a few words that belong to nobody else do well.">
          {(id) => <input id={id} name="new" type="password" autoComplete="new-password" required minLength={10} maxLength={200} />}
        </Field>
        <button>Change it</button>
      </form>
    </section>
  )
}
