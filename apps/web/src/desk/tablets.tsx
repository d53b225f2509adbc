/** Shared tablets: which there are, and the end of one that is lost. One is made on the device itself. */
import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { type Answer, call } from '../client/api.js'
import { sayInstant } from '../ui/format.js'
import { Bones, Fault, Heading } from '../ui/parts.js'
import { useChange } from './use-change.js'

const ZONE = Intl.DateTimeFormat().resolvedOptions().timeZone
type Tablet = Answer<'listTablets'>['items'][number]

export function Tablets(): ReactNode {
  const tablets = useQuery({ queryKey: ['tablets'], queryFn: () => call('listTablets') })
  const { error, change } = useChange()
  return (
    <>
      <Heading title="Shared tablets">Shared tablets</Heading>
      <p className="soft">
        A tablet that hangs in a warehouse for several people: before each sheet it asks who is working, and takes a short code that each
        sets under their own account. Make one on the device: open <a href="/hand.html#/shared-tablet">the on-site pages</a> there, signed
        in as a manager.
      </p>
      <p className="soft">
        A short code is a few digits. It opens the work on site in that warehouse, under that name, and nothing else; entries show in the
        history with the tablet they came from. End a tablet that is lost: from then on it opens nothing and sends nothing.
      </p>
      {error ? <Fault error={error} /> : null}
      {tablets.isPending ? <Bones lines={3} /> : null}
      {tablets.error ? <Fault error={tablets.error} again={() => void tablets.refetch()} /> : null}
      {tablets.data?.items.length === 0 ? <p>No tablet is shared yet.</p> : null}
      <ul className="plain sentences">
        {tablets.data?.items.map((tablet) => (
          <Line key={tablet.id} tablet={tablet} onEnd={() => void change(() => call('endTablet', { params: { tabletId: tablet.id } }))} />
        ))}
      </ul>
    </>
  )
}

function Line({ tablet, onEnd }: { tablet: Tablet; onEnd: () => void }): ReactNode {
  const { name, warehouse, madeByName, madeAt, lastSeenAt, endedAt } = tablet
  return (
    <li className={endedAt ? 'soft' : undefined}>
      <strong>{name}</strong>, {warehouse.name}; made by {madeByName}, {sayInstant(madeAt, ZONE)}.{' '}
      {lastSeenAt ? `Last seen ${sayInstant(lastSeenAt, ZONE)}.` : 'Not seen yet.'}{' '}
      {endedAt ? (
        `Ended ${sayInstant(endedAt, ZONE)}.`
      ) : (
        <button onClick={onEnd}>
          End it<span className="seen-by-readers"> {name}</span>
        </button>
      )}
    </li>
  )
}
