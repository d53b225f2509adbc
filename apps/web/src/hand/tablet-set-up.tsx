/** A manager makes the device in their hand a shared tablet; their own sign-in ends on it with that. */
import { type FormEvent, type ReactNode, useState } from 'react'
import { HandHeading } from './heading.js'
import { useKeeping } from './kept.js'
import { forgetPages } from './outbox.js'
import { ask } from './server.js'
import { becomeTablet } from './tablet.js'
import type { HandMe } from './who.js'

export const mayMakeTablets = (me: HandMe): boolean =>
  me.tabletName === null && (me.person.role === 'manager' || me.person.role === 'administrator')

export function TabletSetUp({ me }: { me: HandMe }): ReactNode {
  const { store, waiting } = useKeeping()
  const [fault, setFault] = useState('')
  async function make(event: FormEvent<HTMLFormElement>): Promise<void> {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    try {
      const body = { name: String(form.get('name')), warehouseId: String(form.get('warehouse')) }
      const { secret } = await ask<{ secret: string }>('POST', '/api/v1/tablets', body)
      await becomeTablet(store, secret)
      await store.delete('pages', 'me')
      await forgetPages(store)
      await ask('DELETE', '/api/v1/session').catch(() => undefined)
      location.hash = '/'
      location.reload()
    } catch (error) {
      setFault((error as Error).message)
    }
  }
  const heading = <HandHeading title="Make this a shared tablet">Make this a shared tablet</HandHeading>
  if (!mayMakeTablets(me))
    return (
      <>
        {heading}
        <p className="note">A manager makes a device a shared tablet.</p>
      </>
    )
  return (
    <>
      {heading}
      <p>
        From then on it asks before each sheet who is working, and takes a short code for it. You are signed out here. What is entered
        stands under the name of whoever gave their code. End a tablet that is lost on the desk, under Set-up.
      </p>
      {waiting > 0 ? <p className="note alarmed">{waiting} entries are only on this device yet: send them first.</p> : null}
      {fault ? (
        <p className="note alarmed" role="alert">
          {fault}
        </p>
      ) : null}
      <form onSubmit={(event) => void make(event)}>
        <label htmlFor="tablet-warehouse">Warehouse where it stays</label>
        <select id="tablet-warehouse" name="warehouse">
          {me.warehouses.map(({ id, name }) => (
            <option key={id} value={id}>
              {name}
            </option>
          ))}
        </select>
        <label htmlFor="tablet-name">What people call it</label>
        <input id="tablet-name" name="name" maxLength={100} required placeholder="Dock 3" autoComplete="off" />
        <button className="main" disabled={waiting > 0}>
          Make it a shared tablet
        </button>
      </form>
    </>
  )
}
