/** Keys for programs that post use or read dates: what each may do, where, until when, and when it was last used. */
import { useQuery } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { AskOnce } from '../ui/ask-once.js'
import { sayInstant } from '../ui/format.js'
import { Bones, Fault, Field, Heading } from '../ui/parts.js'
import { useMe } from './me.js'
import { useChange } from './use-change.js'

type Key = Answer<'listAccessKeys'>['items'][number]
const ZONE = Intl.DateTimeFormat().resolvedOptions().timeZone
const SCOPES: Record<Key['scopes'][number], string> = {
  'evidence:write': 'post evidence of use',
  'evidence:read': 'read evidence',
  'fleet:read': 'read warehouses, stations and machines',
  'dates:read': 'read dates and what falls due',
  'stoppages:write': 'report stoppages',
}
const STATES = { good: '', expired: 'has ended', revoked: 'revoked' }

export function AccessKeys(): ReactNode {
  const me = useMe()
  const keys = useQuery({ queryKey: ['access-keys'], queryFn: () => call('listAccessKeys') })
  const { error, change } = useChange()
  const nameOf = (id: string): string => me.warehouses.find((one) => one.id === id)?.name ?? 'another warehouse'
  return (
    <>
      <Heading title="Access keys">Access keys</Heading>
      <p className="soft">For programs, such as one that sends the day’s cartons. A person signs in by themselves.</p>
      {error ? <Fault error={error} /> : null}
      {keys.isPending ? <Bones lines={4} /> : null}
      {keys.error ? <Fault error={keys.error} again={() => void keys.refetch()} /> : null}
      {keys.data?.items.length === 0 ? <p>No program has a key yet.</p> : null}
      <ul className="plain sentences">
        {keys.data?.items.map((key) => (
          <li key={key.id} className={key.state === 'good' ? undefined : 'soft'}>
            <strong>{key.name}</strong> (…{key.hint}) {STATES[key.state]} may {key.scopes.map((scope) => SCOPES[scope]).join(', ')}
            {key.warehouseIds ? ` in ${key.warehouseIds.map(nameOf).join(', ')}` : ''}, until {sayInstant(key.expiresAt, ZONE)}.{' '}
            {key.lastUsedAt ? `Last used ${sayInstant(key.lastUsedAt, ZONE)}.` : 'Never used.'} Made by {key.createdByName}
            {key.createdByDisabled && key.state === 'good' ? ', who is disabled and may still know it: make a new one' : ''}.{' '}
            {key.state === 'good' ? (
              <AskOnce
                open="Revoke…"
                name={key.name}
                confirm="Revoke it"
                leave="Leave it"
                onDo={() => void change(() => call('revokeAccessKey', { params: { accessKeyId: key.id } }))}
              >
                What sends with it is refused from then on, and it cannot be given back: a new key must be put in there.
              </AskOnce>
            ) : null}
          </li>
        ))}
      </ul>
      <Make />
    </>
  )
}

function Make(): ReactNode {
  const me = useMe()
  const { error, change } = useChange()
  const [secret, setSecret] = useState<{ name: string; text: string } | null>(null)
  function make(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const target = event.currentTarget
    const form = new FormData(target)
    const where = form.getAll('warehouse').map(String)
    const name = String(form.get('name'))
    void change(async () => {
      const { secret: text } = await call('createAccessKey', {
        body: {
          name,
          scopes: form.getAll('scope') as Key['scopes'],
          warehouseIds: where.length === 0 ? null : where,
          days: Number(form.get('days')),
        },
      })
      setSecret({ name, text })
      target.reset()
    })
  }
  return (
    <section aria-labelledby="make">
      <h2 id="make">Make a key</h2>
      {error ? <Fault error={error} /> : null}
      {secret ? (
        <div className="note" role="status">
          <p>The key for {secret.name}. Copy it now: it is not shown again.</p>
          <p>
            <code style={{ overflowWrap: 'anywhere' }}>{secret.text}</code>
          </p>
          <button onClick={() => setSecret(null)}>I have it</button>
        </div>
      ) : null}
      <form onSubmit={make}>
        <Field label="Name" hint="Which program, and where it runs.">
          {(id) => <input id={id} name="name" required maxLength={100} />}
        </Field>
        <fieldset className="days">
          <legend>May</legend>
          {Object.entries(SCOPES).map(([scope, words]) => (
            <label key={scope}>
              <input type="checkbox" name="scope" value={scope} defaultChecked={scope === 'evidence:write'} /> {words}
            </label>
          ))}
        </fieldset>
        <fieldset className="days">
          <legend>Only in (none ticked: everywhere)</legend>
          {me.warehouses.map(({ id, name }) => (
            <label key={id}>
              <input type="checkbox" name="warehouse" value={id} /> {name}
            </label>
          ))}
        </fieldset>
        <Field label="Ends after" unit="days">
          {(id) => <input id={id} name="days" type="number" min={1} max={366} defaultValue={180} required />}
        </Field>
        <button className="main">Make the key</button>
      </form>
    </section>
  )
}
