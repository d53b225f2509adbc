/** Entries that disagree: both sides, and a button for each. */
import { useInfiniteQuery, useQueryClient } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { Link } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayInstant, sayLength } from '../ui/format.js'
import { Bones, Fault, Heading } from '../ui/parts.js'
import { mayDecide, useMe, useZone } from './me.js'

type Conflict = Answer<'listWorkConflicts'>['items'][number]

export function Conflicts(): ReactNode {
  const conflicts = useInfiniteQuery({
    queryKey: ['conflicts'],
    initialPageParam: '',
    queryFn: ({ pageParam }) => call('listWorkConflicts', { query: { limit: 100, ...(pageParam ? { cursor: pageParam } : {}) } }),
    getNextPageParam: (page) => page.nextCursor,
  })
  const shown = conflicts.data?.pages.flatMap(({ items }) => items)
  return (
    <>
      <Heading title="Entries that disagree">Entries that disagree</Heading>
      <p>
        Two people, or two phones, measured the same thing and got different values. Until somebody says which counts, the first does. Both
        are kept.
      </p>
      {conflicts.isPending ? <Bones /> : null}
      {conflicts.error ? <Fault error={conflicts.error} again={() => void conflicts.refetch()} /> : null}
      {shown?.length === 0 ? <p className="soft">Nothing disagrees.</p> : null}
      {shown?.map((conflict) => (
        <One key={conflict.entryId} conflict={conflict} />
      ))}
      {conflicts.hasNextPage ? (
        <button onClick={() => void conflicts.fetchNextPage()} disabled={conflicts.isFetchingNextPage}>
          {conflicts.isFetchingNextPage ? 'Loading …' : 'Show more'}
        </button>
      ) : null}
    </>
  )
}

function One({ conflict }: { conflict: Conflict }): ReactNode {
  const me = useMe()
  const zone = useZone(conflict.warehouse.id)
  const queries = useQueryClient()
  const [note, setNote] = useState('')
  const [error, setError] = useState<unknown>(null)
  const { first, second } = conflict
  const settle = (counts: 'first' | 'second'): void => {
    setError(null)
    call('settleWorkConflict', { params: { workOrderId: conflict.workOrder.id, entryId: conflict.entryId }, body: { counts, note } })
      .then(() => queries.invalidateQueries())
      .catch(setError)
  }
  const side = (of: { valueMm: number; byName: string | null; at: string }): string =>
    `${sayLength(of.valueMm, me.person.units)}, ${of.byName ?? 'someone not named'}, ${sayInstant(of.at, zone)}`
  const id = `note-${conflict.entryId}`
  return (
    <section className="part" aria-label={`${conflict.labelCode}, ${conflict.what}`}>
      <h2>
        {conflict.labelCode}: {conflict.what}
      </h2>
      <p>
        <Link to={`/work/${conflict.workOrder.id}`}>Work order {conflict.workOrder.number}</Link>, {conflict.warehouse.name}.
      </p>
      <ol>
        <li>{first ? side(first) : 'The first value counts no more.'}</li>
        <li>{side(second)}</li>
      </ol>
      {mayDecide(me) ? (
        <form onSubmit={(event) => event.preventDefault()} aria-label={`Which counts, ${conflict.labelCode}`}>
          <label htmlFor={id}>Why, for the record (may stay empty)</label>
          <input id={id} value={note} maxLength={500} onChange={(event) => setNote(event.target.value)} />
          <div className="row">
            <button type="button" onClick={() => settle('first')}>
              The first counts
            </button>
            <button type="button" onClick={() => settle('second')}>
              The second counts
            </button>
          </div>
        </form>
      ) : (
        <p className="soft">A manager says which counts.</p>
      )}
      {error ? <Fault error={error} /> : null}
    </section>
  )
}
