/** What a manager can change about a machine: its status, and where it stands. */
import { useQueryClient } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { sayWord } from '../ui/format.js'
import { Fault, Field } from '../ui/parts.js'
import { useMe } from './me.js'
import { useStations } from './whole-lists.js'

type Detail = Answer<'getMachine'>

export function ChangeStatus({ machine }: { machine: Detail }): ReactNode {
  const queries = useQueryClient()
  const [error, setError] = useState<unknown>(null)
  async function submit(event: FormEvent<HTMLFormElement>): Promise<void> {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    try {
      await call('changeMachineStatus', {
        params: { machineId: machine.id },
        body: { status: form.get('status') as Detail['status'], reason: String(form.get('reason')) },
      })
      await queries.invalidateQueries()
    } catch (problem) {
      setError(problem)
    }
  }
  return (
    <details className="no-print">
      <summary>To the shelf, the bench, tag out, back into service …</summary>
      <form onSubmit={(event) => void submit(event)} style={{ marginTop: 12 }}>
        {error ? <Fault error={error} /> : null}
        <Field label="Now">
          {(id) => (
            <select id={id} name="status" defaultValue={machine.status}>
              {['in_service', 'on_the_shelf', 'at_the_bench', 'away_for_repair', 'tagged_out', 'not_found', 'retired'].map((status) => (
                <option key={status} value={status}>
                  {sayWord(status)}
                </option>
              ))}
            </select>
          )}
        </Field>
        <Field label="Reason">{(id) => <input id={id} name="reason" maxLength={1000} />}</Field>
        <button>Write it down</button>
      </form>
    </details>
  )
}

export function Move({ machine }: { machine: Detail }): ReactNode {
  const me = useMe()
  const queries = useQueryClient()
  const [error, setError] = useState<unknown>(null)
  const [open, setOpen] = useState(false)
  const [warehouseId, setWarehouseId] = useState(machine.warehouse?.id ?? me.warehouses[0]?.id ?? '')
  const stations = useStations(warehouseId, open && warehouseId !== '')
  function submit(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const stationId = String(new FormData(event.currentTarget).get('station')) || null
    setError(null)
    call('moveMachine', { params: { machineId: machine.id }, body: { warehouseId, stationId } })
      .then(() => queries.invalidateQueries())
      .then(() => setOpen(false), setError)
  }
  return (
    <details className="no-print" open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>Move it to another place …</summary>
      <form onSubmit={submit} style={{ marginTop: 12 }}>
        {error ? <Fault error={error} /> : null}
        <Field label="Warehouse">
          {(id) => (
            <select id={id} value={warehouseId} onChange={(event) => setWarehouseId(event.target.value)}>
              {me.warehouses.map((hall) => (
                <option key={hall.id} value={hall.id}>
                  {hall.name}
                </option>
              ))}
            </select>
          )}
        </Field>
        <Field label="Station" hint="Its care and the age of its parts go with it; its share of the work is divided at this moment.">
          {(id) => (
            <select id={id} name="station">
              <option value="">no station</option>
              {stations.data?.map((station) => (
                <option key={station.id} value={station.id}>
                  {station.line} {station.name}
                  {station.machines.length > 0 ? `, where ${station.machines.map(({ labelCode }) => labelCode).join(' and ')} stands` : ''}
                </option>
              ))}
            </select>
          )}
        </Field>
        <button className="main">It stands there now</button>
      </form>
    </details>
  )
}
