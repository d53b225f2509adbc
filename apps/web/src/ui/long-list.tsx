/** A list that is read page after page as somebody asks for more: nothing is cut off without a word. */
import { type QueryKey, useInfiniteQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'

interface Page {
  items: unknown[]
  nextCursor: string | null
}

export function useLongList<One extends Page>(queryKey: QueryKey, ask: (from: { cursor?: string }) => Promise<One>, enabled = true) {
  const list = useInfiniteQuery({
    queryKey,
    enabled,
    initialPageParam: '',
    queryFn: ({ pageParam }) => ask(pageParam === '' ? {} : { cursor: pageParam }),
    getNextPageParam: ({ nextCursor }) => nextCursor,
  })
  const items: One['items'][number][] = list.data?.pages.flatMap((page) => page.items) ?? []
  return { ...list, first: list.data?.pages[0], items }
}

export function More({
  list,
  words = 'Show more',
}: {
  list: { hasNextPage: boolean; isFetchingNextPage: boolean; fetchNextPage(): Promise<unknown> }
  words?: string
}): ReactNode {
  if (!list.hasNextPage) return null
  return (
    <button className="no-print" disabled={list.isFetchingNextPage} onClick={() => void list.fetchNextPage()}>
      {list.isFetchingNextPage ? 'Loading …' : words}
    </button>
  )
}
