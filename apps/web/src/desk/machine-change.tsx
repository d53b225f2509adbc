/** What a manager can change about a machine: its status, where it stands since when, and its share of a station's work. */
import { type FormEvent, type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { sayWord } from '../ui/format.js'
import { Fault, Field } from '../ui/parts.js'
import { WallField } from '../ui/wall-field.js'
import { readWall } from '../ui/wall-read.js'
import { useMe } from './me.js'
import { useChange } from './use-change.js'
import { useStations } from './whole-lists.js'

type Detail = Answer<'getMachine'>
const STATUSES = ['in_service', 'on_the_shelf', 'at_the_bench', 'away_for_repair', 'tagged_out', 'not_found', 'retired'] as const

/** Left empty: now. */
function since(form: FormData, zone: string): { at?: string } {
  const at = readWall(form, 'at', zone, null)
  return at === null ? {} : { at }
}

export function ChangeStatus({ machine }: { machine: Detail }): ReactNode {
  const { error, change } = useChange()
  const [open, setOpen] = useState(false)
  const zone = machine.zone ?? 'UTC'
  function submit(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const body = { status: form.get('status') as Detail['status'], reason: String(form.get('reason')), ...since(form, zone) }
    void change(() => call('changeMachineStatus', { params: { machineId: machine.id }, body }).then(() => setOpen(false)))
  }
  return (
    <details className="no-print" open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>To the shelf, the bench, tag out, back into service …</summary>
      {open ? (
        <form onSubmit={submit} style={{ marginTop: 12 }}>
          {error ? <Fault error={error} /> : null}
          <Field label="Now">
            {(id) => (
              <select id={id} name="status" defaultValue={machine.status}>
                {STATUSES.map((status) => (
                  <option key={status} value={status}>
                    {sayWord(status)}
                  </option>
                ))}
              </select>
            )}
          </Field>
          <WallField name="at" label="Since" zone={zone} instant={null} hint="Left empty: now." />
          <Field label="Reason">{(id) => <input id={id} name="reason" maxLength={1000} />}</Field>
          <button>Write it down</button>
        </form>
      ) : null}
    </details>
  )
}

export function Move({ machine }: { machine: Detail }): ReactNode {
  const [open, setOpen] = useState(false)
  return (
    <details className="no-print" open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>Move it to another place …</summary>
      {open ? <MoveForm machine={machine} onDone={() => setOpen(false)} /> : null}
    </details>
  )
}

/** Of the station's work, in per cent as people say it. */
const shareNow = ({ placements }: Detail): number => Math.round((placements.find(({ toAt }) => toAt === null)?.shareOfStation ?? 1) * 100)

function MoveForm({ machine, onDone }: { machine: Detail; onDone: () => void }): ReactNode {
  const me = useMe()
  const { error, change } = useChange()
  const [warehouseId, setWarehouseId] = useState(machine.warehouse?.id ?? me.warehouses[0]?.id ?? '')
  const [stationId, setStationId] = useState(machine.station?.id ?? '')
  const stations = useStations(warehouseId, warehouseId !== '')
  const zone = me.warehouses.find(({ id }) => id === warehouseId)?.zone ?? 'UTC'
  const others = stations.data?.find(({ id }) => id === stationId)?.machines.filter(({ id }) => id !== machine.id) ?? []
  const stays = stationId !== '' && stationId === machine.station?.id
  function submit(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const shareOfStation = others.length === 0 ? 1 : Number(form.get('share')) / 100
    const body = { warehouseId, stationId: stationId || null, shareOfStation, ...since(form, zone) }
    void change(() => call('moveMachine', { params: { machineId: machine.id }, body }).then(onDone))
  }
  return (
    <form onSubmit={submit} style={{ marginTop: 12 }}>
      {error ? <Fault error={error} /> : null}
      <Field label="Warehouse">
        {(id) => (
          <select
            id={id}
            value={warehouseId}
            onChange={(event) => {
              setWarehouseId(event.target.value)
              setStationId('')
            }}
          >
            {me.warehouses.map((hall) => (
              <option key={hall.id} value={hall.id}>
                {hall.name}
              </option>
            ))}
          </select>
        )}
      </Field>
      <Field label="Station" hint="Its care and the age of its parts go with it; the work of that day is divided at this moment.">
        {(id) => (
          <select id={id} value={stationId} onChange={(event) => setStationId(event.target.value)}>
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
      {stations.error ? <Fault error={stations.error} again={() => void stations.refetch()} /> : null}
      {others.length > 0 ? (
        <Field
          label="Its share of the station’s work"
          unit="%"
          hint={`Beside it: ${others.map(({ labelCode, shareOfStation }) => `${labelCode}, ${Math.round(shareOfStation * 100)} %`).join('; ')}. All at 100 %: they share alike.`}
        >
          {(id) => (
            <input id={id} name="share" type="number" min={1} max={100} step={1} required defaultValue={stays ? shareNow(machine) : 100} />
          )}
        </Field>
      ) : null}
      <WallField name="at" label="Since" zone={zone} instant={null} hint="Left empty: now." />
      <button className="main">{stays ? 'That is its share' : 'It stands there now'}</button>
    </form>
  )
}
