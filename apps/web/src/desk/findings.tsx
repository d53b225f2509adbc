/** What was found on site and no task answers: a task takes it, or somebody says what was done about it. */
import { useInfiniteQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { Link, useSearchParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { Bones, Fault, Heading } from '../ui/parts.js'
import { FoundWords, SettleFinding } from './finding-settle.js'
import { useToday } from './me.js'

type Item = Answer<'listFindings'>['items'][number]

export function Findings(): ReactNode {
  const [search] = useSearchParams()
  const warehouseId = search.get('warehouseId')
  const list = useInfiniteQuery({
    queryKey: ['findings', warehouseId],
    initialPageParam: '',
    queryFn: ({ pageParam }) =>
      call('listFindings', {
        query: { limit: 50, ...(warehouseId ? { warehouseId } : {}), ...(pageParam ? { cursor: pageParam } : {}) },
      }),
    getNextPageParam: ({ nextCursor }) => nextCursor,
  })
  const items = list.data?.pages.flatMap((page) => page.items) ?? []
  return (
    <>
      <Heading title="Found on site">Found on site</Heading>
      <p>
        Somebody saw these beside the work asked for, and no task answers them yet. Let a task take one and it falls due; or say what was
        done.
      </p>
      {list.isPending ? <Bones /> : null}
      {list.error ? <Fault error={list.error} again={() => void list.refetch()} /> : null}
      {list.data && items.length === 0 ? <p className="soft">Nothing waits here.</p> : null}
      {items.map((item) => (
        <One key={item.id} item={item} />
      ))}
      {list.hasNextPage ? (
        <button disabled={list.isFetchingNextPage} onClick={() => void list.fetchNextPage()}>
          {list.isFetchingNextPage ? 'Loading …' : 'Show more'}
        </button>
      ) : null}
    </>
  )
}

function One({ item }: { item: Item }): ReactNode {
  const today = useToday(item.warehouse.id)
  return (
    <section className="part" style={{ borderTop: '1px solid var(--rule)', padding: '16px 0' }}>
      <h2>
        <Link to={`/machines/${item.machine.id}`}>{item.machine.labelCode}</Link> <span className="soft">{item.warehouse.name}</span>
      </h2>
      <p>
        <FoundWords finding={item} today={today} />
      </p>
      <SettleFinding finding={item} machineId={item.machine.id} labelCode={item.machine.labelCode} />
    </section>
  )
}
