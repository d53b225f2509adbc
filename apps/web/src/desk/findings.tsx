/** What was found on site and no task answers: a task takes it, or somebody says what was done about it. */
import type { ReactNode } from 'react'
import { Link, useSearchParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { More, useLongList } from '../ui/long-list.js'
import { Bones, Fault, Heading } from '../ui/parts.js'
import { FoundWords, SettleFinding } from './finding-settle.js'
import { useToday } from './me.js'

type Item = Answer<'listFindings'>['items'][number]

export function Findings(): ReactNode {
  const [search] = useSearchParams()
  const warehouseId = search.get('warehouseId')
  const list = useLongList(['findings', warehouseId], (from) =>
    call('listFindings', { query: { limit: 50, ...(warehouseId ? { warehouseId } : {}), ...from } }),
  )
  return (
    <>
      <Heading title="Found on site">Found on site</Heading>
      <p>
        Somebody saw these beside the work asked for, and no task answers them yet. Let a task take one and it falls due; or say what was
        done.
      </p>
      {list.isPending ? <Bones /> : null}
      {list.error ? <Fault error={list.error} again={() => void list.refetch()} /> : null}
      {list.data && list.items.length === 0 ? <p className="soft">Nothing waits here.</p> : null}
      {list.items.map((item) => (
        <One key={item.id} item={item} />
      ))}
      <More list={list} />
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
