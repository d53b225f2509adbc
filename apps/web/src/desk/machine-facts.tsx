/** What the books say of a machine beside its place and status, and the form that puts it right. */
import { type FormEvent, type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { sayDay } from '../ui/format.js'
import { Choice, Fault, Field } from '../ui/parts.js'
import { MAY_OPEN, OWNERS, TAPES } from './machine-words.js'
import { useChange } from './use-change.js'

type Detail = Answer<'getMachine'>
type Body = NonNullable<Parameters<typeof call<'patchMachine'>>[1]>['body']

const words = (list: readonly (readonly [string, string])[], key: string): string => list.find(([value]) => value === key)?.[1] ?? key

export function Facts({ machine }: { machine: Detail }): ReactNode {
  const { owner, mayOpen, tape, warrantyUntil, serviceFirm, serviceTelephone, note, today } = machine
  return (
    <>
      <p>
        {owner === 'own' ? 'Our own' : `Not ours: ${words(OWNERS, owner)}`}; {words(MAY_OPEN, mayOpen)} may open it; {words(TAPES, tape)}{' '}
        tape.
        {warrantyUntil === null ? '' : ` Warranty until ${sayDay(warrantyUntil, today ?? '')}.`}
        {serviceFirm === '' ? '' : ` Service firm ${serviceFirm}`}
        {serviceTelephone === '' ? (serviceFirm === '' ? '' : '.') : serviceFirm === '' ? ' Telephone ' : ', telephone '}
        {serviceTelephone === '' ? '' : <a href={`tel:${serviceTelephone.replaceAll(/[^+\d]/g, '')}`}>{serviceTelephone}</a>}
        {serviceTelephone === '' ? '' : '.'}
      </p>
      {note === '' ? null : <p>“{note}”</p>}
    </>
  )
}

/** Only what was changed is sent, so that two people who change different things do not undo each other. */
function changed(machine: Detail, form: FormData): Body {
  const text = (name: string): string => String(form.get(name) ?? '').trim()
  const said = {
    labelCode: text('labelCode'),
    serialNumber: text('serialNumber'),
    commissionedOn: text('commissionedOn') || null,
    warrantyUntil: text('warrantyUntil') || null,
    owner: text('owner') as Detail['owner'],
    mayOpen: text('mayOpen') as Detail['mayOpen'],
    tape: text('tape') as Detail['tape'],
    serviceFirm: text('serviceFirm'),
    serviceTelephone: text('serviceTelephone'),
    note: text('note'),
  }
  const differ = Object.entries(said).filter(([field, value]) => value !== machine[field as keyof typeof said])
  return { ...Object.fromEntries(differ), version: machine.version }
}

export function PutRight({ machine }: { machine: Detail }): ReactNode {
  const { error, change } = useChange()
  const [open, setOpen] = useState(false)
  function submit(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const body = changed(machine, new FormData(event.currentTarget))
    void change(() => call('patchMachine', { params: { machineId: machine.id }, body }).then(() => setOpen(false)))
  }
  const first = (list: readonly (readonly [string, string])[], key: string) =>
    [...list].sort(([a], [b]) => Number(b === key) - Number(a === key))
  return (
    <details className="no-print" open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>Put right what the books say …</summary>
      {open ? (
        <form key={machine.version} onSubmit={submit} style={{ marginTop: 12 }}>
          {error ? <Fault error={error} /> : null}
          <Field label="Label" hint="The label on the machine does not change with it: print and stick on a new one.">
            {(id) => <input id={id} name="labelCode" required maxLength={40} defaultValue={machine.labelCode} />}
          </Field>
          <Field label="Serial number">
            {(id) => <input id={id} name="serialNumber" required maxLength={100} defaultValue={machine.serialNumber} />}
          </Field>
          <Field label="Commissioned on" hint="Its care and the age of its first parts are counted from there.">
            {(id) => (
              <input
                id={id}
                name="commissionedOn"
                type="date"
                max={machine.today ?? undefined}
                defaultValue={machine.commissionedOn ?? ''}
              />
            )}
          </Field>
          <Field label="Warranty until">
            {(id) => <input id={id} name="warrantyUntil" type="date" defaultValue={machine.warrantyUntil ?? ''} />}
          </Field>
          <Choice label="Owner" name="owner" options={first(OWNERS, machine.owner)} />
          <Choice label="Who may open it" name="mayOpen" options={first(MAY_OPEN, machine.mayOpen)} />
          <Choice label="Tape" name="tape" options={first(TAPES, machine.tape)} hint="Another tape asks for a look at what it wears." />
          <Field label="Service firm">
            {(id) => <input id={id} name="serviceFirm" maxLength={200} defaultValue={machine.serviceFirm} />}
          </Field>
          <Field label="Its telephone">
            {(id) => <input id={id} name="serviceTelephone" type="tel" maxLength={60} defaultValue={machine.serviceTelephone} />}
          </Field>
          <Field label="Note">{(id) => <textarea id={id} name="note" maxLength={4000} rows={3} defaultValue={machine.note} />}</Field>
          <button className="main">Put it right</button>
        </form>
      ) : null}
    </details>
  )
}
