/** People: who they are, where they serve, when they are away, and which small care they were shown, by whom. */
import { useQuery } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { sayCount } from '../ui/format.js'
import { Bones, Fault, Field, Heading } from '../ui/parts.js'
import { Anonymise } from './anonymise.js'
import { MailLink } from './mail-wishes.js'
import { useMe, useToday } from './me.js'
import { useChange } from './use-change.js'

type Person = Answer<'listPeople'>['items'][number]
const ROLES = { administrator: 'administrator', manager: 'manager', technician: 'technician', instructed: 'instructed person' } as const

export function SetUpPeople(): ReactNode {
  const me = useMe()
  const people = useQuery({ queryKey: ['people'], queryFn: () => call('listPeople', { query: { limit: 200 } }) })
  return (
    <>
      <Heading title="People">People</Heading>
      {people.isPending ? <Bones lines={10} /> : null}
      {people.error ? <Fault error={people.error} again={() => void people.refetch()} /> : null}
      {people.data?.items.map((person) => (
        <One key={person.id} person={person} all={people.data.items} />
      ))}
      {me.person.role === 'administrator' ? <Add /> : <p className="soft">An administrator adds people.</p>}
    </>
  )
}

function One({ person, all }: { person: Person; all: Person[] }): ReactNode {
  const me = useMe()
  const names = new Map(me.warehouses.map(({ id, name }) => [id, name]))
  const where = person.warehouseIds.map((id) => names.get(id) ?? 'another warehouse').join(', ')
  return (
    <section aria-label={person.name}>
      <h2>
        {person.name} <span className="soft">{ROLES[person.role]}</span>
      </h2>
      <p>
        {person.email ?? 'No e-mail'}; serves {where || 'no warehouse yet'}
        {person.electricallyQualified ? '; qualified electrical person' : ''}
        {person.anonymised
          ? '; gone, and their name taken away'
          : person.disabled
            ? '; disabled'
            : person.canSignIn
              ? ''
              : '; cannot sign in yet'}
        {person.hasCodes ? '; signs in with a code beside the password' : ''}
        {person.passkeyCount > 0 ? `; has ${sayCount(person.passkeyCount, 'passkey', 'passkeys')}` : ''}. Told {person.leadDays} days ahead.{' '}
        <MailLink personId={person.id} />
      </p>
      {person.instructions.length > 0 ? (
        <ul>
          {person.instructions.map(({ id, machineTypeName, instructedOn, instructedBy }) => (
            <li key={id}>
              Was shown small outside care on {machineTypeName} on {instructedOn}, by {instructedBy}.
            </li>
          ))}
        </ul>
      ) : null}
      {person.absences.map(({ id, fromDate, toDate, coverPersonId }) => (
        <p key={id}>
          Away {fromDate} to {toDate}; {all.find((other) => other.id === coverPersonId)?.name ?? 'nobody'} covers.
        </p>
      ))}
      {me.person.role === 'administrator' && person.id !== me.person.id && !person.anonymised ? <LetIn person={person} /> : null}
      <details>
        <summary>Was shown care on a type, or is away…</summary>
        <div className="two">
          <Shown person={person} />
          <Away person={person} all={all} />
        </div>
      </details>
    </section>
  )
}

/** Invite by mail, end everything at once, let in again. */
function LetIn({ person }: { person: Person }): ReactNode {
  const { error, change } = useChange()
  const [sent, setSent] = useState(false)
  const params = { personId: person.id }
  const invite = (): void => void change(() => call('invitePerson', { params }).then(() => setSent(true)))
  const [asking, setAsking] = useState(false)
  const takeAway = (): void => void change(() => call('removeFactors', { params }).then(() => setAsking(false)))
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
          <button onClick={() => disable(true)}>Disable; ends their sessions at once</button>
        )}
        {person.hasCodes || person.passkeyCount > 0 ? <button onClick={() => setAsking(true)}>Lost their phone …</button> : null}
      </div>
      {person.disabled ? <Anonymise person={person} /> : null}
      {asking ? (
        <div className="note">
          <p>
            This takes {person.name}’s codes, recovery codes and passkeys away and ends their sessions. Afterwards the password alone signs
            in. Make sure that it is really {person.name} who asks. It is written into the history under your name.
          </p>
          <div className="row">
            <button onClick={takeAway}>Take them away</button>
            <button onClick={() => setAsking(false)}>Leave them</button>
          </div>
        </div>
      ) : null}
    </>
  )
}

function Shown({ person }: { person: Person }): ReactNode {
  const { error, change } = useChange()
  const today = useToday()
  const types = useQuery({ queryKey: ['types'], queryFn: () => call('listMachineTypes') })
  function add(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const body = { machineTypeId: String(form.get('type')), instructedOn: String(form.get('on')), instructedBy: String(form.get('by')) }
    void change(() => call('addInstruction', { params: { personId: person.id }, body }))
  }
  return (
    <form onSubmit={add}>
      {error ? <Fault error={error} /> : null}
      <Field label="Was shown care on">
        {(id) => (
          <select id={id} name="type">
            {types.data?.items.map((type) => (
              <option key={type.id} value={type.id}>
                {type.name}
              </option>
            ))}
          </select>
        )}
      </Field>
      <Field label="On">{(id) => <input id={id} name="on" type="date" required defaultValue={today} max={today} />}</Field>
      <Field label="By">{(id) => <input id={id} name="by" required maxLength={200} />}</Field>
      <button>Write it down</button>
    </form>
  )
}

function Away({ person, all }: { person: Person; all: Person[] }): ReactNode {
  const { error, change } = useChange()
  function add(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const body = { fromDate: String(form.get('from')), toDate: String(form.get('to')), coverPersonId: String(form.get('cover')) || null }
    void change(() => call('addAbsence', { params: { personId: person.id }, body }))
  }
  return (
    <form onSubmit={add}>
      {error ? <Fault error={error} /> : null}
      <Field label="Away from">{(id) => <input id={id} name="from" type="date" required />}</Field>
      <Field label="To">{(id) => <input id={id} name="to" type="date" required />}</Field>
      <Field label="Covered by">
        {(id) => (
          <select id={id} name="cover">
            <option value="">nobody</option>
            {all
              .filter(({ id: other, disabled }) => other !== person.id && !disabled)
              .map((other) => (
                <option key={other.id} value={other.id}>
                  {other.name}
                </option>
              ))}
          </select>
        )}
      </Field>
      <button>Write it down</button>
    </form>
  )
}

function Add(): ReactNode {
  const me = useMe()
  const { error, change } = useChange()
  function add(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const password = String(form.get('password'))
    void change(() =>
      call('createPerson', {
        body: {
          name: String(form.get('name')),
          email: String(form.get('email')) || null,
          role: form.get('role') as Person['role'],
          electricallyQualified: form.get('electrical') === 'on',
          warehouseIds: form.getAll('warehouse').map(String),
          ...(password ? { password } : {}),
        },
      }),
    )
  }
  return (
    <section aria-labelledby="add">
      <h2 id="add">Add a person</h2>
      {error ? <Fault error={error} /> : null}
      <form onSubmit={add}>
        <Field label="Name">{(id) => <input id={id} name="name" required maxLength={200} />}</Field>
        <Field label="E-mail" hint="Without one no reminder can reach them.">
          {(id) => <input id={id} name="email" type="email" />}
        </Field>
        <Field label="Role">
          {(id) => (
            <select id={id} name="role" defaultValue="technician">
              {Object.entries(ROLES).map(([value, words]) => (
                <option key={value} value={value}>
                  {words}
                </option>
              ))}
            </select>
          )}
        </Field>
        <label className="tick">
          <input type="checkbox" name="electrical" /> Qualified electrical person
        </label>
        <fieldset className="days">
          <legend>Serves</legend>
          {me.warehouses.map(({ id, name }) => (
            <label key={id}>
              <input type="checkbox" name="warehouse" value={id} /> {name}
            </label>
          ))}
        </fieldset>
        <Field label="First password" hint="At least 10 characters. Left empty: invite them by mail once they are added.">
          {(id) => <input id={id} name="password" type="password" minLength={10} autoComplete="new-password" />}
        </Field>
        <button className="main">Add</button>
      </form>
    </section>
  )
}
