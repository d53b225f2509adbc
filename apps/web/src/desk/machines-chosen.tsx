/** What is done to the machines that were chosen in the list: one form, all or none, and taken back in one go. */
import { useQueryClient } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { sayCount, sayWord } from '../ui/format.js'
import { Choice, Fault, Field } from '../ui/parts.js'
import { saveFile } from '../ui/save-file.js'
import { MAY_OPEN, OWNERS, TAPES } from './machine-words.js'
import { useMe } from './me.js'

type Body = NonNullable<Parameters<typeof call<'changeMachines'>>[1]>['body']
type Change = Answer<'changeMachines'>
const STATUSES = ['in_service', 'on_the_shelf', 'at_the_bench', 'away_for_repair', 'tagged_out', 'not_found', 'retired']

/** Only what was filled in is changed. */
function bodyOf(machineIds: string[], form: FormData): Body {
  const text = (name: string): string => String(form.get(name) ?? '').trim()
  const fields = {
    ...(text('commissionedOn') ? { commissionedOn: text('commissionedOn') } : {}),
    ...(text('tape') ? { tape: text('tape') as 'plain' } : {}),
    ...(text('owner') ? { owner: text('owner') as 'own' } : {}),
    ...(text('mayOpen') ? { mayOpen: text('mayOpen') as 'our_technicians' } : {}),
    ...(text('serviceFirm') ? { serviceFirm: text('serviceFirm') } : {}),
    ...(text('serviceTelephone') ? { serviceTelephone: text('serviceTelephone') } : {}),
    ...(text('note') ? { note: text('note') } : {}),
  }
  return {
    machineIds,
    ...(Object.keys(fields).length > 0 ? { fields } : {}),
    ...(text('status') ? { status: { status: text('status') as 'in_service', reason: text('reason') } } : {}),
    ...(text('warehouseId') ? { place: { warehouseId: text('warehouseId') } } : {}),
  }
}

export function Chosen({ ids, onNone, onChanged }: { ids: string[]; onNone: () => void; onChanged: (change: Change) => void }): ReactNode {
  const queries = useQueryClient()
  const [open, setOpen] = useState(false)
  const [error, setError] = useState<unknown>(null)
  const [busy, setBusy] = useState(false)
  const act = (doing: () => Promise<unknown>): void => {
    setBusy(true)
    setError(null)
    doing()
      .then(() => queries.invalidateQueries())
      .catch(setError)
      .finally(() => setBusy(false))
  }
  function change(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    act(async () => onChanged(await call('changeMachines', { body: bodyOf(ids, form) })))
  }
  return (
    <section className="note no-print" aria-label="Chosen machines">
      <div className="row">
        <strong role="status">{sayCount(ids.length, 'machine', 'machines')} chosen</strong>
        <button aria-expanded={open} onClick={() => setOpen(!open)}>
          Change them…
        </button>
        <button disabled={busy} onClick={() => act(() => call('printLabels', { body: { machineIds: ids } }).then(saveFile))}>
          Labels as PDF
        </button>
        <button onClick={onNone}>Choose none</button>
      </div>
      {error ? <Fault error={error} /> : null}
      {open ? (
        <form onSubmit={change}>
          <p className="small soft">What is left empty stays as it is. All of them are changed, or none; it can be taken back.</p>
          <Fields />
          <button className="main" disabled={busy}>
            {busy ? 'Changing …' : `Change ${sayCount(ids.length, 'machine', 'machines')}`}
          </button>
        </form>
      ) : null}
    </section>
  )
}

function Fields(): ReactNode {
  const me = useMe()
  return (
    <>
      <Pick label="Status" name="status" options={STATUSES.map((status) => [status, sayWord(status)])} />
      <Field label="Reason" hint="Asked for with a tag; kept with the status.">
        {(id) => <input id={id} name="reason" maxLength={1000} />}
      </Field>
      <Pick label="Move to" name="warehouseId" options={me.warehouses.map(({ id, name }) => [id, name])} />
      <Field label="Commissioned on">{(id) => <input id={id} name="commissionedOn" type="date" />}</Field>
      <Pick label="Tape" name="tape" options={TAPES} />
      <Pick label="Owner" name="owner" options={OWNERS} />
      <Pick label="Who may open it" name="mayOpen" options={MAY_OPEN} />
      <Field label="Service firm">{(id) => <input id={id} name="serviceFirm" maxLength={200} />}</Field>
      <Field label="Its telephone">{(id) => <input id={id} name="serviceTelephone" type="tel" maxLength={60} />}</Field>
      <Field label="Note" hint="Takes the place of the note that stands there.">
        {(id) => <input id={id} name="note" maxLength={1000} />}
      </Field>
    </>
  )
}

const AS_IT_IS = ['', 'as it is'] as const

/** Left as it is unless something is chosen. */
function Pick({ label, name, options }: { label: string; name: string; options: readonly (readonly [string, string])[] }): ReactNode {
  return <Choice label={label} name={name} options={[AS_IT_IS, ...options]} />
}
