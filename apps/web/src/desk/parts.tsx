/** Parts: what the dates of the next weeks ask for, what is there, and what is in the books. */
import { useQuery } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { useSearchParams } from 'react-router'
import { call } from '../client/api.js'
import { Bones, Fault, Heading } from '../ui/parts.js'
import { mayDecide, useMe } from './me.js'
import { NoWarehouseYet } from './no-warehouse.js'
import { PartForm } from './part-form.js'
import { PartNeeds } from './part-needs.js'
import { PartStock } from './part-stock.js'
import { PartsGone } from './parts-gone.js'

export function Parts(): ReactNode {
  const me = useMe()
  const [search] = useSearchParams()
  const [adding, setAdding] = useState(false)
  const warehouseId = search.get('warehouseId')
  const where = warehouseId ? { warehouseId } : {}
  const parts = useQuery({ queryKey: ['parts', where], queryFn: () => call('listParts', { query: { limit: 200, ...where } }) })
  return (
    <>
      <Heading title="Parts">Parts</Heading>
      <NoWarehouseYet />
      <PartNeeds where={where} />
      <h2>Stock</h2>
      {parts.isPending ? <Bones /> : null}
      {parts.error ? <Fault error={parts.error} again={() => void parts.refetch()} /> : null}
      {parts.data?.items.length === 0 ? (
        <p className="soft">No part is in the books yet. Once there is one, the dates say here what must be ordered by when.</p>
      ) : null}
      {parts.data && parts.data.items.length > 0 ? <PartStock parts={parts.data.items} /> : null}
      {parts.data?.nextCursor ? <p className="soft">Only the first 200 parts are shown; the export has them all.</p> : null}
      {mayDecide(me) && parts.data ? (
        adding ? (
          <PartForm onEnd={() => setAdding(false)} />
        ) : (
          <p>
            <button onClick={() => setAdding(true)}>Add a part…</button>
          </p>
        )
      ) : null}
      {mayDecide(me) ? <PartsGone /> : null}
    </>
  )
}
