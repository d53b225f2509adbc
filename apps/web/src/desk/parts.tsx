/** What must be ordered by when: the need that the dates make, against stock. */
import { useQuery } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { useSearchParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { Bones, Fault, Field, Heading } from '../ui/parts.js'
import { mayDecide, useMe } from './me.js'
import { NoWarehouseYet } from './no-warehouse.js'
import { useChange } from './use-change.js'

export function Parts(): ReactNode {
  const me = useMe()
  const [search] = useSearchParams()
  const where = search.get('warehouseId') ? { warehouseId: search.get('warehouseId') as string } : {}
  const needs = useQuery({ queryKey: ['part-needs', where], queryFn: () => call('partNeeds', { query: { days: 90, ...where } }) })
  const parts = useQuery({ queryKey: ['parts', where], queryFn: () => call('listParts', { query: { limit: 200, ...where } }) })
  return (
    <>
      <Heading title="Parts">Parts</Heading>
      <NoWarehouseYet />
      <h2>What the next 90 days ask for</h2>
      {needs.isPending ? <Bones /> : null}
      {needs.error ? <Fault error={needs.error} again={() => void needs.refetch()} /> : null}
      {needs.data?.items.length === 0 ? <p className="soft">No part is asked for.</p> : null}
      <ul className="plain sentences">
        {needs.data?.items.map(({ componentKey, warehouseId, sentence, missing }) => (
          <li key={`${componentKey}${warehouseId}`} className={missing > 0 ? 'strong' : undefined}>
            {sentence}
          </li>
        ))}
      </ul>
      <h2>Stock</h2>
      {parts.isPending ? <Bones /> : null}
      {parts.error ? <Fault error={parts.error} again={() => void parts.refetch()} /> : null}
      {parts.data?.items.length === 0 ? <NoParts /> : null}
      <div className="wide">
        <table className="stacked">
          <thead>
            <tr>
              <th>Part</th>
              <th>Fits</th>
              <th>Where</th>
              <th className="figure">On hand</th>
              <th className="figure">On order</th>
              <th className="figure">Days to come</th>
              <th>
                <span className="seen-by-readers">Count</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {parts.data?.items.flatMap(({ id, name, stockCode, fits, stock }) =>
              (stock.length === 0 ? [null] : stock).map((place, index) => (
                <tr key={`${id}${place?.warehouseId ?? ''}`}>
                  <td>{index === 0 ? `${name} (${stockCode})` : ''}</td>
                  <td>{index === 0 ? fits.map((type) => type.name).join('; ') : ''}</td>
                  <td>{place?.warehouseName ?? 'nowhere'}</td>
                  <td className="figure" data-label="On hand">
                    {place?.onHand ?? 0}
                  </td>
                  <td className="figure" data-label="On order">
                    {place?.onOrder ?? 0}
                  </td>
                  <td className="figure" data-label="Days to come">
                    {place?.leadTimeDays ?? 'not known'}
                  </td>
                  <td>{place && mayDecide(me) ? <Count partId={id} name={name} place={place} /> : null}</td>
                </tr>
              )),
            )}
          </tbody>
        </table>
      </div>
    </>
  )
}

function NoParts(): ReactNode {
  return (
    <p className="soft">
      No part is in the books yet. Another program adds them through the api; from then on the dates say here what must be ordered by when.
    </p>
  )
}

type Place = Answer<'listParts'>['items'][number]['stock'][number]

/** What was counted on the shelf takes the place of what the books say. */
function Count({ partId, name, place }: { partId: string; name: string; place: Place }): ReactNode {
  const [open, setOpen] = useState(false)
  const { error, change } = useChange()
  function submit(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const whole = (field: string): number => Number(form.get(field))
    const body = { onHand: whole('onHand'), onOrder: whole('onOrder'), leadTimeDays: whole('leadTimeDays') }
    void change(() => call('putPartStock', { params: { partId, warehouseId: place.warehouseId }, body })).then(() => setOpen(false))
  }
  if (!open)
    return (
      <button className="small" onClick={() => setOpen(true)} aria-label={`Count… ${name} at ${place.warehouseName}`}>
        Count…
      </button>
    )
  return (
    <form onSubmit={submit}>
      {error ? <Fault error={error} /> : null}
      {(
        [
          ['onHand', 'On hand', place.onHand],
          ['onOrder', 'On order', place.onOrder],
          ['leadTimeDays', 'Days to come', place.leadTimeDays],
        ] as const
      ).map(([field, label, value]) => (
        <Field key={field} label={label}>
          {(id) => <input id={id} name={field} type="number" min={0} step={1} required defaultValue={value} />}
        </Field>
      ))}
      <button className="main">Keep</button>
    </form>
  )
}
