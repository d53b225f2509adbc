/** Evidence of one machine that was set aside; once it is settled, which dates moved by it, as soon as they are worked out. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { sayDay } from '../ui/format.js'
import { Fault } from '../ui/parts.js'
import { Settle } from './evidence-settle.js'
import { sayEvidence } from './evidence-words.js'

type Detail = Answer<'getMachine'>
type Dates = Answer<'machineForecasts'>['items']
const LOOK_AGAIN_MS = 1000

export function SetAside({ machine }: { machine: Detail }): ReactNode {
  const queries = useQueryClient()
  const [before, setBefore] = useState<Dates | null>(null)
  const list = useQuery({
    queryKey: ['machine', machine.id, 'set-aside'],
    queryFn: () => call('listEvidence', { query: { machineId: machine.id, state: 'set_aside', limit: 50 } }),
  })
  const remember = (): void =>
    setBefore(queries.getQueryData<Answer<'machineForecasts'>>(['machine', machine.id, 'forecasts'])?.items ?? [])
  const items = list.data?.items ?? []
  if (list.error) return <Fault error={list.error} again={() => void list.refetch()} />
  if (items.length === 0 && before === null) return null
  return (
    <section aria-labelledby="aside">
      <h2 id="aside">Evidence set aside</h2>
      {before !== null && machine.warehouse ? <WhatMoved machine={machine} warehouseId={machine.warehouse.id} before={before} /> : null}
      {items.length === 0 ? <p className="soft">Nothing is set aside any more.</p> : null}
      {items.map((item) => (
        <div key={item.id} style={{ borderTop: '1px solid var(--rule)', padding: '12px 0' }}>
          <p>
            <strong>{sayEvidence(item, machine.today ?? '')}</strong>: {item.setAsideReason}{' '}
            <span className="soft">From {item.source}.</span>
          </p>
          <Settle item={item} zone={machine.zone ?? 'UTC'} onDone={remember} />
        </div>
      ))}
    </section>
  )
}

/** Waits for the pass that has seen the change, then says what it moved. */
function WhatMoved({ machine, warehouseId, before }: { machine: Detail; warehouseId: string; before: Dates }): ReactNode {
  const hall = useQuery({
    queryKey: ['warehouse', warehouseId, 'worked-in'],
    staleTime: 0,
    queryFn: () => call('getWarehouse', { params: { warehouseId } }),
    refetchInterval: ({ state: { data } }) => (data?.upToDate ? false : LOOK_AGAIN_MS),
  })
  const worked = hall.data?.upToDate === true
  const now = useQuery({
    queryKey: ['machine', machine.id, 'forecasts', 'after', hall.data?.upToDate, hall.dataUpdatedAt],
    enabled: worked,
    queryFn: () => call('machineForecasts', { params: { machineId: machine.id } }),
  })
  if (hall.error ?? now.error) return <Fault error={hall.error ?? now.error} again={() => void hall.refetch()} />
  if (!now.data)
    return (
      <p className="note" role="status">
        Written down. What follows from it is being worked in …
      </p>
    )
  const today = machine.today ?? ''
  const was = new Map(before.map((date) => [date.serviceTaskId, date]))
  const moved = now.data.items.filter((date) => was.get(date.serviceTaskId)?.likelyOn !== date.likelyOn)
  return (
    <div className="note" role="status">
      <p>
        Written down and worked in.{' '}
        {moved.length === 0 ? 'No date moved by it.' : moved.length === 1 ? 'One date moved:' : `${moved.length} dates moved:`}
      </p>
      <ul>
        {moved.map((date) => (
          <li key={date.serviceTaskId}>
            {date.taskName}: {sayDay(was.get(date.serviceTaskId)?.likelyOn ?? null, today)} → {sayDay(date.likelyOn, today)}
          </li>
        ))}
      </ul>
    </div>
  )
}
