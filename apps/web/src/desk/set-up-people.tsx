/** People: who they are, where they serve, when they are away, and which small care they were shown, by whom. */
import { type ReactNode, useRef, useState } from 'react'
import { sayCount } from '../ui/format.js'
import { Bones, Fault, Heading } from '../ui/parts.js'
import { MailLink } from './mail-wishes.js'
import { useMe } from './me.js'
import { PersonAccess } from './person-access.js'
import { Away, IsAway } from './person-away.js'
import { AddPerson, ChangePerson, ROLES } from './person-form.js'
import { Show, WasShown } from './person-shown.js'
import { type Person, usePeople } from './whole-lists.js'

export function SetUpPeople(): ReactNode {
  const me = useMe()
  const people = usePeople()
  return (
    <>
      <Heading title="People">People</Heading>
      {people.isPending ? <Bones lines={10} /> : null}
      {people.error ? <Fault error={people.error} again={() => void people.refetch()} /> : null}
      {people.data?.map((person) => (
        <One key={person.id} person={person} all={people.data} />
      ))}
      {me.person.role === 'administrator' ? <AddPerson /> : <p className="soft">An administrator adds and changes people.</p>}
    </>
  )
}

function One({ person, all }: { person: Person; all: readonly Person[] }): ReactNode {
  const me = useMe()
  const heading = useRef<HTMLHeadingElement>(null)
  const [changing, setChanging] = useState(false)
  const administers = me.person.role === 'administrator' && !person.anonymised
  /** What had the focus is gone: the person has it. */
  const back = (): void => heading.current?.focus()
  const end = (): void => {
    setChanging(false)
    back()
  }
  return (
    <section aria-label={person.name}>
      <h2 ref={heading} tabIndex={-1}>
        {person.name} <span className="soft">{ROLES[person.role]}</span>
      </h2>
      <Said person={person} />
      <WasShown person={person} onGone={back} />
      <IsAway person={person} all={all} onGone={back} />
      {administers && !changing ? (
        <p>
          <button aria-label={`Change… ${person.name}`} onClick={() => setChanging(true)}>
            Change…
          </button>
        </p>
      ) : null}
      {changing ? <ChangePerson person={person} onEnd={end} /> : null}
      {administers && person.id !== me.person.id ? <PersonAccess person={person} /> : null}
      {person.anonymised ? null : (
        <details>
          <summary>Was shown care on a type, or is away…</summary>
          <div className="two">
            <Show person={person} />
            <Away person={person} all={all} />
          </div>
        </details>
      )}
    </section>
  )
}

function Said({ person }: { person: Person }): ReactNode {
  const me = useMe()
  const names = new Map(me.warehouses.map(({ id, name }) => [id, name]))
  const where = person.warehouseIds.map((id) => names.get(id) ?? 'another warehouse').join(', ')
  const state = person.anonymised
    ? '; gone, and their name taken away'
    : person.disabled
      ? '; disabled'
      : person.canSignIn
        ? ''
        : '; cannot sign in yet'
  return (
    <p>
      {person.email ?? 'No e-mail'}; serves {where || 'no warehouse yet'}
      {person.electricallyQualified ? '; qualified electrical person' : ''}
      {state}
      {person.hasCodes ? '; signs in with a code beside the password' : ''}
      {person.passkeyCount > 0 ? `; has ${sayCount(person.passkeyCount, 'passkey', 'passkeys')}` : ''}. Told {person.leadDays} days ahead.{' '}
      <MailLink personId={person.id} />
    </p>
  )
}
