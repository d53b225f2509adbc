/** One station: its name, its line and place in the walk, what happens if it stops, strips a carton. */
import { type ReactNode, useState } from 'react'
import { call } from '../client/api.js'
import { AskOnce } from '../ui/ask-once.js'
import { Fault, Field } from '../ui/parts.js'
import { OpenedForm } from './part-form.js'
import { RecordFault, useRecordChange, type Words } from './record-change.js'
import { useChange } from './use-change.js'
import type { Station } from './whole-lists.js'

export const STOPS = { stops: 'packing stops', slows: 'packing slows', goes_on: 'packing goes on' } as const
type Fields = Pick<Station, 'name' | 'line' | 'walkingOrder' | 'ifStopped' | 'stripsPerCarton'>

function fieldsOf(form: FormData): Fields {
  const perCarton = String(form.get('stripsPerCarton')).trim()
  return {
    name: String(form.get('name')).trim(),
    line: String(form.get('line')).trim(),
    walkingOrder: Number(form.get('walkingOrder')),
    ifStopped: form.get('ifStopped') as Station['ifStopped'],
    stripsPerCarton: perCarton === '' ? null : Number(perCarton),
  }
}
const WORDS: Words<Fields> = {
  name: ['Name', (name) => name],
  line: ['Line or zone', (line) => line || 'none'],
  walkingOrder: ['Place in the walk', String],
  ifStopped: ['If it stops', (stops) => STOPS[stops]],
  stripsPerCarton: ['Strips a carton', (strips) => (strips === null ? 'not known' : String(strips))],
}

function StationFields({ station }: { station: Partial<Fields> & { walkingOrder: number } }): ReactNode {
  return (
    <>
      <Field label="Name">{(id) => <input id={id} name="name" required maxLength={100} defaultValue={station.name} />}</Field>
      <Field label="Line or zone">{(id) => <input id={id} name="line" maxLength={100} defaultValue={station.line} />}</Field>
      <Field label="Place in the walk">
        {(id) => <input id={id} name="walkingOrder" type="number" step="1" required defaultValue={station.walkingOrder} />}
      </Field>
      <Field label="If it stops">
        {(id) => (
          <select id={id} name="ifStopped" defaultValue={station.ifStopped ?? 'slows'}>
            {Object.entries(STOPS).map(([value, words]) => (
              <option key={value} value={value}>
                {words}
              </option>
            ))}
          </select>
        )}
      </Field>
      <Field
        label="Strips a carton"
        hint="Count the strips and the cartons of one ordinary day and divide: 1 200 strips on 500 cartons are 2.4. Left empty: not known, and cartons alone say nothing of its use."
      >
        {(id) => (
          <input
            id={id}
            name="stripsPerCarton"
            type="number"
            inputMode="decimal"
            step="any"
            min="0.01"
            max="100"
            defaultValue={station.stripsPerCarton ?? ''}
          />
        )}
      </Field>
    </>
  )
}

export function ChangeStation({ station, onEnd, onGone }: { station: Station; onEnd: () => void; onGone: () => void }): ReactNode {
  const params = { stationId: station.id }
  const { opened, now, error, keep } = useRecordChange<Fields>({
    record: station,
    read: () => call('getStation', { params }),
    send: (body) => call('patchStation', { params, body }),
    onEnd,
  })
  return (
    <>
      <OpenedForm label={`Change ${station.name}`} onSubmit={(form) => keep(fieldsOf(form))}>
        <RecordFault error={error} opened={opened} now={now} words={WORDS} />
        <StationFields station={opened} />
        <div className="row">
          <button className="main">Keep</button>
          <button type="button" onClick={onEnd}>
            Leave as it was
          </button>
        </div>
      </OpenedForm>
      <Remove station={station} onGone={onGone} />
    </>
  )
}

function Remove({ station, onGone }: { station: Station; onGone: () => void }): ReactNode {
  const { error, change } = useChange()
  const remove = (): void => void change(() => call('removeStation', { params: { stationId: station.id } }).then(onGone))
  return (
    <>
      {error ? <Fault error={error} /> : null}
      <AskOnce open="Remove…" name={station.name} confirm="Remove it" leave="Leave it" onDo={remove}>
        For a station that was entered by mistake. One at which a machine stood, or of which anything was written down, stays.
      </AskOnce>
    </>
  )
}

export function AddStation({ warehouseId, next }: { warehouseId: string; next: number }): ReactNode {
  const { error, change } = useChange()
  const [open, setOpen] = useState(false)
  const add = (form: FormData): void => void change(() => call('createStation', { body: { warehouseId, ...fieldsOf(form) } }))
  return (
    <details onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>Add a station…</summary>
      {open ? (
        <OpenedForm key={next} label="Add a station" onSubmit={add}>
          {error ? <Fault error={error} /> : null}
          <StationFields station={{ walkingOrder: next }} />
          <button className="main">Add</button>
        </OpenedForm>
      ) : null}
    </details>
  )
}
