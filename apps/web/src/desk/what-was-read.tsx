/** What was read stays on its page where it cannot be read anew, and with it what is being typed there. */
import { type Query, QueryCache, QueryClient, useQueryClient } from '@tanstack/react-query'
import { type ReactNode, useSyncExternalStore } from 'react'
import { heard } from '../client/heard.js'
import { ApiProblem, NoAnswer } from '../client/problems.js'

type AnyQuery = Query<unknown, unknown, unknown>
/** What went wrong after which reading; the next reading makes it good. */
const behind = new WeakMap<AnyQuery, { error: unknown; readings: number }>()

/** Of the line, the server or the sign-in, and not of what was asked for. */
const passes = (error: unknown): boolean =>
  !(error instanceof ApiProblem) || error.status === 401 || error.status === 429 || error.status >= 500

/** What hung once hangs again: whoever looks at it decides. */
const triesAgain = (count: number, error: unknown): boolean => !(error instanceof ApiProblem || error instanceof NoAnswer) && count < 2

const cache = new QueryCache({
  onError(error, query) {
    // More of a list that was asked for and did not come is said where it was asked for.
    if (query.state.data === undefined || query.state.fetchMeta?.fetchMore || !passes(error)) return
    behind.set(query as AnyQuery, { error, readings: query.state.dataUpdateCount })
    query.setState({ status: 'success', error: null })
  },
})

export const queries = new QueryClient({
  queryCache: cache,
  defaultOptions: {
    // Away from the network a page tries, and says that it is away, instead of waiting without a word.
    queries: { networkMode: 'always', staleTime: 15_000, retry: triesAgain },
  },
})
heard.addEventListener('signed-out', () => void queries.refetchQueries({ queryKey: ['me'] }))
heard.addEventListener('came-before', () => void queries.invalidateQueries())

export type HowRead = 'anew' | 'before' | 'signed_out'

function howRead(): HowRead {
  const errors = cache.getAll().flatMap((query) => {
    const fault = query.isActive() ? behind.get(query as AnyQuery) : undefined
    return fault?.readings === query.state.dataUpdateCount ? [fault.error] : []
  })
  if (errors.some((error) => error instanceof ApiProblem && error.code === 'NOT_SIGNED_IN')) return 'signed_out'
  return errors.length > 0 ? 'before' : 'anew'
}

export const useHowRead = (): HowRead => useSyncExternalStore((onChange) => cache.subscribe(onChange), howRead)

export function ReadBefore(): ReactNode {
  const client = useQueryClient()
  return (
    <div className="note alarmed no-print" role="status">
      <p>The server cannot be reached just now. What stands here was read before; what you typed is still here.</p>
      <button onClick={() => void client.refetchQueries({ type: 'active' })}>Try again</button>
    </div>
  )
}
