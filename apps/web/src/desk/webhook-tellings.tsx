/** The tellings of one program, newest first: what, when, what became of it; sent again by a press. */
import { useInfiniteQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { type Answer, BY_ITSELF, call } from '../client/api.js'
import { sayCount, sayInstant } from '../ui/format.js'
import { Bones, Fault } from '../ui/parts.js'
import { useChange } from './use-change.js'

type Telling = Answer<'listWebhookDeliveries'>['items'][number]
const ZONE = Intl.DateTimeFormat().resolvedOptions().timeZone
const WHAT = { due: 'Care due', work_order: 'Work order', stoppage: 'Stoppage', test: 'Trial' } as const

function factsOf({ kind, data }: Telling): string {
  const text = (name: string): string => String(data[name] ?? '')
  switch (kind) {
    case 'due':
      return `${text('labelCode')}, ${text('taskName')}, ${text('dueOn')}`
    case 'work_order':
      return `${text('number')}, ${text('labelCode')}: ${text('state').replaceAll('_', ' ')}`
    case 'stoppage':
      return `${text('labelCode')}: ${text('state').replaceAll('_', ' ')}`
    case 'test':
      return ''
  }
}

function stateOf({ state, attempts, nextAt, lastError, endedAt }: Telling): string {
  const tries = sayCount(attempts, 'try', 'tries')
  if (state === 'delivered') return `arrived ${endedAt ? sayInstant(endedAt, ZONE) : ''}${attempts > 1 ? ` after ${tries}` : ''}`
  if (state === 'failed') return `given up. ${lastError ?? ''}`
  if (attempts === 0) return 'waits to be sent'
  return `not yet, after ${tries}. ${lastError ?? ''}${nextAt ? ` Again at ${sayInstant(nextAt, ZONE)}.` : ''}`
}

export function Tellings({ webhookId, off }: { webhookId: string; off: boolean }): ReactNode {
  const { error, change } = useChange()
  const tellings = useInfiniteQuery({
    queryKey: ['webhooks', webhookId, 'tellings'],
    queryFn: ({ pageParam }) =>
      call(
        'listWebhookDeliveries',
        { params: { webhookId }, query: { limit: 20, ...(pageParam === '' ? {} : { cursor: pageParam }) } },
        BY_ITSELF,
      ),
    initialPageParam: '',
    getNextPageParam: ({ nextCursor }) => nextCursor,
    refetchInterval: 5000,
  })
  const items = tellings.data?.pages.flatMap((page) => page.items) ?? []
  return (
    <>
      {error ? <Fault error={error} /> : null}
      {tellings.isPending ? <Bones lines={3} /> : null}
      {tellings.error ? <Fault error={tellings.error} again={() => void tellings.refetch()} /> : null}
      {tellings.data && items.length === 0 ? <p className="soft">Nothing was told in the last thirty days.</p> : null}
      <ul className="plain sentences">
        {items.map((telling) => (
          <li key={telling.id}>
            {WHAT[telling.kind]} {factsOf(telling)}{' '}
            <span className="soft">
              {sayInstant(telling.createdAt, ZONE)}: {stateOf(telling)}{' '}
            </span>
            {off || telling.state === 'pending' || telling.state === 'claimed' ? null : (
              <button
                className="small"
                onClick={() => void change(() => call('sendWebhookAgain', { params: { webhookId, deliveryId: telling.id } }))}
              >
                Send again
              </button>
            )}
          </li>
        ))}
      </ul>
      {tellings.hasNextPage ? <button onClick={() => void tellings.fetchNextPage()}>Older ones</button> : null}
    </>
  )
}
