/** A spare takes this machine's place at its station: both keep their own history. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { readPages } from '../client/pages.js'
import { sayWord } from '../ui/format.js'
import { Fault, Field } from '../ui/parts.js'

type Detail = Answer<'getMachine'>
const LEAVES = ['at_the_bench', 'away_for_repair', 'on_the_shelf', 'tagged_out', 'retired'] as const

export function Swap({ machine }: { machine: Detail }): ReactNode {
  const queries = useQueryClient()
  const [open, setOpen] = useState(false)
  const [error, setError] = useState<unknown>(null)
  const warehouseId = machine.warehouse?.id ?? ''
  const shelf = useQuery({
    queryKey: ['machines', 'spares', warehouseId],
    enabled: open,
    queryFn: () =>
      readPages((from) =>
        call('listMachines', { query: { warehouseId, status: 'on_the_shelf,at_the_bench', order: 'label', limit: 200, ...from } }),
      ),
  })
  if (!machine.warehouse || machine.status === 'retired') return null
  function submit(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    setError(null)
    const body = {
      spareMachineId: String(form.get('spare')),
      status: form.get('status') as (typeof LEAVES)[number],
      reason: String(form.get('reason')),
    }
    call('swapMachine', { params: { machineId: machine.id }, body })
      .then(() => queries.invalidateQueries())
      .then(() => setOpen(false), setError)
  }
  const spares = (shelf.data ?? []).filter(({ id }) => id !== machine.id)
  return (
    <details className="no-print" open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>Put a spare in its place …</summary>
      {shelf.error ? <Fault error={shelf.error} again={() => void shelf.refetch()} /> : null}
      {shelf.data && spares.length === 0 ? (
        <p className="soft">No machine of {machine.warehouse.name} is on the shelf or at the bench.</p>
      ) : null}
      {spares.length > 0 ? (
        <form onSubmit={submit} style={{ marginTop: 12 }}>
          {error ? <Fault error={error} /> : null}
          <Field label="The spare" hint="What has fallen due on it while it lay there is asked for as one list before it is used.">
            {(id) => (
              <select id={id} name="spare">
                {spares.map((spare) => (
                  <option key={spare.id} value={spare.id}>
                    {spare.labelCode}, {spare.machineType.name}, {sayWord(spare.status)}
                  </option>
                ))}
              </select>
            )}
          </Field>
          <Field label={`Where ${machine.labelCode} goes`}>
            {(id) => (
              <select id={id} name="status">
                {LEAVES.map((status) => (
                  <option key={status} value={status}>
                    {sayWord(status)}
                  </option>
                ))}
              </select>
            )}
          </Field>
          <Field label="Why">{(id) => <input id={id} name="reason" maxLength={1000} />}</Field>
          <button className="main">Swap them</button>
        </form>
      ) : null}
    </details>
  )
}
