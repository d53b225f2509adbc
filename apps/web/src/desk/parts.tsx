/** What must be ordered by when: the need that the dates make, against stock. */
import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { useSearchParams } from 'react-router'
import { call } from '../client/api.js'
import { sayDay } from '../ui/format.js'
import { Bones, Fault, Heading } from '../ui/parts.js'
import { useToday } from './me.js'

export function Parts(): ReactNode {
  const today = useToday()
  const [search] = useSearchParams()
  const where = search.get('warehouseId') ? { warehouseId: search.get('warehouseId') as string } : {}
  const needs = useQuery({ queryKey: ['part-needs', where], queryFn: () => call('partNeeds', { query: { days: 90, ...where } }) })
  const parts = useQuery({ queryKey: ['parts', where], queryFn: () => call('listParts', { query: { limit: 200, ...where } }) })
  return (
    <>
      <Heading title="Parts">Parts</Heading>
      <h2>What the next 90 days ask for</h2>
      {needs.isPending ? <Bones /> : null}
      {needs.error ? <Fault error={needs.error} again={() => void needs.refetch()} /> : null}
      {needs.data?.items.length === 0 ? <p className="soft">No part is asked for.</p> : null}
      <ul className="plain sentences">
        {needs.data?.items.map(({ componentKey, warehouseId, sentence, orderBy, missing }) => (
          <li key={`${componentKey}${warehouseId}`} className={missing > 0 ? 'strong' : undefined}>
            {sentence} {missing > 0 && orderBy ? <span className="soft">Order by {sayDay(orderBy, today)}.</span> : null}
          </li>
        ))}
      </ul>
      <h2>Stock</h2>
      {parts.error ? <Fault error={parts.error} /> : null}
      <div className="wide">
        <table>
          <thead>
            <tr>
              <th>Part</th>
              <th>Fits</th>
              <th>Where</th>
              <th className="figure">On hand</th>
              <th className="figure">On order</th>
              <th className="figure">Days to come</th>
            </tr>
          </thead>
          <tbody>
            {parts.data?.items.flatMap(({ id, name, stockCode, fits, stock }) =>
              (stock.length === 0 ? [null] : stock).map((place, index) => (
                <tr key={`${id}${place?.warehouseId ?? ''}`}>
                  <td>{index === 0 ? `${name} (${stockCode})` : ''}</td>
                  <td>{index === 0 ? fits.map((type) => type.name).join('; ') : ''}</td>
                  <td>{place?.warehouseName ?? 'nowhere'}</td>
                  <td className="figure">{place?.onHand ?? 0}</td>
                  <td className="figure">{place?.onOrder ?? 0}</td>
                  <td className="figure">{place?.leadTimeDays ?? ''}</td>
                </tr>
              )),
            )}
          </tbody>
        </table>
      </div>
    </>
  )
}
