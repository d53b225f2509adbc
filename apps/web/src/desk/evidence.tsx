/** Evidence that cannot be true: set aside with its reason, corrected or dismissed here. */
import type { ReactNode } from 'react'
import { Link, useSearchParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { More, useLongList } from '../ui/long-list.js'
import { Bones, Fault, Heading } from '../ui/parts.js'
import { Settle } from './evidence-settle.js'
import { sayEvidence } from './evidence-words.js'
import { useMe, useToday } from './me.js'

type Item = Answer<'listEvidence'>['items'][number]

export function Evidence(): ReactNode {
  const [search] = useSearchParams()
  const warehouseId = search.get('warehouseId')
  const query = { state: 'set_aside', limit: 100, ...(warehouseId ? { warehouseId } : {}) }
  const list = useLongList(['evidence', query], (from) => call('listEvidence', { query: { ...query, ...from } }))
  return (
    <>
      <Heading title="Evidence set aside">Evidence set aside</Heading>
      <p>
        Each of these cannot be true as it stands. Nothing else was stopped by it. Correct it, or dismiss it; the dates follow by
        themselves.
      </p>
      {list.isPending ? <Bones /> : null}
      {list.error ? <Fault error={list.error} again={() => void list.refetch()} /> : null}
      {list.data && list.items.length === 0 ? <p className="soft">Nothing is set aside.</p> : null}
      {list.items.map((item) => (
        <One key={item.id} item={item} />
      ))}
      <More list={list} />
    </>
  )
}

function One({ item }: { item: Item }): ReactNode {
  const me = useMe()
  const today = useToday(item.warehouseId)
  const zone = me.warehouses.find(({ id }) => id === item.warehouseId)?.zone ?? 'UTC'
  return (
    <section className="part" style={{ borderTop: '1px solid var(--rule)', padding: '16px 0' }}>
      <h2>
        {item.machine ? (
          <Link to={`/machines/${item.machine.id}`}>{item.machine.labelCode}</Link>
        ) : (
          (item.station?.name ?? 'No machine named')
        )}
        : {sayEvidence(item, today)}
      </h2>
      <p>
        {item.setAsideReason} <span className="soft">From {item.source}.</span>{' '}
        {item.setAsideCode === 'NO_STRIPS_PER_CARTON' && item.station ? (
          <Link to={`/set-up/warehouses/${item.warehouseId}`}>Enter it at {item.station.name}</Link>
        ) : null}
      </p>
      <Settle item={item} zone={zone} />
    </section>
  )
}
