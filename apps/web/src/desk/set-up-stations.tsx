/** Stations of a warehouse in walking order, with the machines that stand there. */
import { useQuery } from '@tanstack/react-query'
import type { FormEvent, ReactNode } from 'react'
import { Link } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { Bones, Fault, Field } from '../ui/parts.js'
import { type Hall, useChange } from './use-change.js'

type Station = Answer<'listStations'>['items'][number]
const STOPS = { stops: 'packing stops', slows: 'packing slows', goes_on: 'packing goes on' } as const

export function Stations({ hall, decides }: { hall: Hall; decides: boolean }): ReactNode {
  const stations = useQuery({
    queryKey: ['stations', hall.id],
    queryFn: () => call('listStations', { query: { warehouseId: hall.id, limit: 200 } }),
  })
  return (
    <section aria-labelledby="stations">
      <h2 id="stations">Stations in walking order</h2>
      {stations.isPending ? <Bones /> : null}
      {stations.error ? <Fault error={stations.error} again={() => void stations.refetch()} /> : null}
      {stations.data ? <List stations={stations.data.items} /> : null}
      {decides ? <Add hall={hall} next={(stations.data?.items.at(-1)?.walkingOrder ?? 0) + 1} /> : null}
    </section>
  )
}

function List({ stations }: { stations: Station[] }): ReactNode {
  if (stations.length === 0) return <p className="soft">No station yet. Machines may be registered without one and moved later.</p>
  return (
    <div className="wide">
      <table className="stacked">
        <thead>
          <tr>
            <th className="figure">Walk</th>
            <th>Station</th>
            <th>Machines</th>
            <th>If it stops</th>
            <th className="figure">Strips a carton</th>
          </tr>
        </thead>
        <tbody>
          {stations.map(({ id, walkingOrder, line, name, machines, ifStopped, stripsPerCarton }) => (
            <tr key={id}>
              <td className="figure" data-label="Walk">
                {walkingOrder}
              </td>
              <td>
                {line} {name}
              </td>
              <td data-label="Machines">
                {machines.length === 0 ? <span className="soft">none</span> : null}
                {machines.map((machine) => (
                  <Link key={machine.id} to={`/machines/${machine.id}`} style={{ marginRight: 12 }}>
                    {machine.labelCode}
                  </Link>
                ))}
              </td>
              <td data-label="If it stops">{STOPS[ifStopped]}</td>
              <td className="figure" data-label="Strips a carton">
                {stripsPerCarton ?? <span className="soft">not known</span>}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  )
}

function Add({ hall, next }: { hall: Hall; next: number }): ReactNode {
  const { error, change } = useChange()
  function add(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const perCarton = String(form.get('stripsPerCarton'))
    void change(() =>
      call('createStation', {
        body: {
          warehouseId: hall.id,
          name: String(form.get('name')),
          line: String(form.get('line')),
          walkingOrder: Number(form.get('walkingOrder')),
          ifStopped: form.get('ifStopped') as Station['ifStopped'],
          stripsPerCarton: perCarton === '' ? null : Number(perCarton),
        },
      }),
    )
  }
  return (
    <details>
      <summary>Add a station…</summary>
      <form onSubmit={add} key={next}>
        {error ? <Fault error={error} /> : null}
        <Field label="Name">{(id) => <input id={id} name="name" required maxLength={100} />}</Field>
        <Field label="Line or zone">{(id) => <input id={id} name="line" maxLength={100} />}</Field>
        <Field label="Place in the walk">
          {(id) => <input id={id} name="walkingOrder" type="number" step="1" required defaultValue={next} />}
        </Field>
        <Field label="If it stops">
          {(id) => (
            <select id={id} name="ifStopped" defaultValue="slows">
              {Object.entries(STOPS).map(([value, words]) => (
                <option key={value} value={value}>
                  {words}
                </option>
              ))}
            </select>
          )}
        </Field>
        <Field label="Strips a carton" hint="Leave empty where it is not known.">
          {(id) => <input id={id} name="stripsPerCarton" type="number" step="0.1" min="0.1" max="100" />}
        </Field>
        <button className="main">Add</button>
      </form>
    </details>
  )
}
