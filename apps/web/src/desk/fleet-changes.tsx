/** What was done to many machines at once, the newest first, each with its way back. */
import { useQuery } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { sayCount, sayInstant } from '../ui/format.js'
import { Bones, Fault } from '../ui/parts.js'
import { useMe } from './me.js'
import { useChange } from './use-change.js'

type Change = Answer<'listFleetChanges'>['items'][number]

export function FleetChanges({ newest }: { newest: Change | null }): ReactNode {
  const [open, setOpen] = useState(false)
  return (
    <>
      {newest ? <One change={newest} role="status" /> : null}
      <details className="no-print" onToggle={(event) => setOpen(event.currentTarget.open)}>
        <summary>What was done to many at once</summary>
        {open ? <All /> : null}
      </details>
    </>
  )
}

function All(): ReactNode {
  const changes = useQuery({ queryKey: ['fleet-changes'], queryFn: () => call('listFleetChanges') })
  if (changes.error) return <Fault error={changes.error} again={() => void changes.refetch()} />
  if (!changes.data) return <Bones lines={3} />
  if (changes.data.items.length === 0)
    return (
      <p className="soft">Nothing yet. What is registered by count, changed for several machines or swapped for a spare stands here.</p>
    )
  return (
    <ul className="plain">
      {changes.data.items.map((change) => (
        <li key={change.id}>
          <One change={change} />
        </li>
      ))}
    </ul>
  )
}

function One({ change, role }: { change: Change; role?: 'status' }): ReactNode {
  const me = useMe()
  const { error, change: run } = useChange()
  const [undone, setUndone] = useState<Answer<'undoFleetChange'> | null>(null)
  const gone = change.undoneAt !== null || undone !== null
  const undo = (): void => void run(() => call('undoFleetChange', { params: { fleetChangeId: change.id } }).then(setUndone))
  return (
    <div className={role ? 'note' : undefined} role={role}>
      <p>
        {sayCount(change.machineCount, 'machine', 'machines')}: {change.words}.{' '}
        <span className="soft">
          {change.personName ?? 'A program'}, {sayInstant(change.madeAt, me.warehouses[0]?.zone ?? 'UTC')}.
        </span>{' '}
        {undone
          ? `${undone.putBack} put back.${undone.leftAsTheyAre.length > 0 ? ` Changed again since, and left as they are: ${undone.leftAsTheyAre.join(', ')}.` : ''}`
          : gone
            ? 'Taken back.'
            : null}{' '}
        {gone ? null : (
          <button className="small" onClick={undo} aria-label={`Take back: ${change.words}`}>
            Take it back
          </button>
        )}
      </p>
      {error ? <Fault error={error} /> : null}
    </div>
  )
}
