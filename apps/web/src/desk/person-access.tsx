/** Whether somebody gets in: invite by mail, end everything at once, let in again, take away lost ways of signing in. */
import { type ReactNode, useState } from 'react'
import { call } from '../client/api.js'
import { AskOnce } from '../ui/ask-once.js'
import { Fault } from '../ui/parts.js'
import { Anonymise } from './anonymise.js'
import { DisablePerson } from './person-disable.js'
import { PersonPassword } from './person-password.js'
import { useChange } from './use-change.js'
import type { Person } from './whole-lists.js'

export function PersonAccess({ person }: { person: Person }): ReactNode {
  const { error, change } = useChange()
  const [sent, setSent] = useState(false)
  const params = { personId: person.id }
  const invite = (): void => void change(() => call('invitePerson', { params }).then(() => setSent(true)))
  const takeAway = (): void => void change(() => call('removeFactors', { params }))
  const disable = (disabled: boolean): void => void change(() => call('patchPerson', { params, body: { disabled } }))
  return (
    <>
      {error ? <Fault error={error} /> : null}
      {sent ? <p role="status">A mail with a link is on its way to {person.email}. It works once, for 7 days.</p> : null}
      <div className="row">
        {person.disabled || person.email === null ? null : (
          <button onClick={invite}>{person.canSignIn ? 'Send a link for a new password' : 'Invite by mail'}</button>
        )}
        {person.disabled ? (
          <button onClick={() => disable(false)}>Let in again</button>
        ) : (
          <DisablePerson person={person} onDisable={() => disable(true)} />
        )}
        {person.hasCodes || person.passkeyCount > 0 ? (
          <AskOnce open="Lost their phone …" name={person.name} confirm="Take them away" leave="Leave them" onDo={takeAway}>
            This takes {person.name}’s codes, recovery codes and passkeys away and ends their sessions. Afterwards the password alone signs
            in. Make sure that it is really {person.name} who asks. It is written into the history under your name.
          </AskOnce>
        ) : null}
      </div>
      {!person.disabled && person.email !== null ? <PersonPassword person={person} /> : null}
      {person.disabled ? <Anonymise person={person} /> : null}
    </>
  )
}
