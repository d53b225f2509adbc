/** Forms of one part in a machine's books: replaced, taken out, fitted, its days put right. */
import { type FormEvent, type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { Choice, Fault, Field } from '../ui/parts.js'
import { useChange } from './use-change.js'
import { useStep } from './use-step.js'

type Detail = Answer<'getMachine'>
type Part = Answer<'machineComponents'>['items'][number]
type Reason = NonNullable<Part['removalReason']>
interface OfPart {
  part: Part
  machine: Detail
  onDone: () => void
}

const REASONS: readonly (readonly [Reason, string])[] = [
  ['worn', 'worn'],
  ['broken', 'broken'],
  ['planned', 'as planned, before it was worn'],
  ['unknown', 'not known'],
]
const WITH_MOVED: typeof REASONS = [...REASONS, ['moved', 'to use it in another machine']]
const WHY = 'Worn and broken tell how long such parts live; as planned, only that it lived that long.'

function useForm(doing: (form: FormData) => Promise<unknown>, onDone: () => void) {
  const { error, change } = useChange()
  const submit = (event: FormEvent<HTMLFormElement>): void => {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    void change(() => doing(form).then(onDone))
  }
  return { error, submit }
}

function Day({
  label,
  name,
  machine,
  value,
  hint,
  required,
}: {
  label: string
  name: string
  machine: Detail
  value?: string | null
  hint?: string
  required?: boolean
}): ReactNode {
  return (
    <Field label={label} hint={hint}>
      {(id) => <input id={id} name={name} type="date" required={required} max={machine.today ?? undefined} defaultValue={value ?? ''} />}
    </Field>
  )
}

const text = (form: FormData, name: string): string => String(form.get(name) ?? '').trim()
const take = (part: Part, machine: Detail, form: FormData): Promise<unknown> =>
  call('removeComponent', {
    params: { machineId: machine.id, componentId: part.componentId },
    body: { removedOn: text(form, 'on'), reason: text(form, 'reason') as Reason, note: text(form, 'note') },
  })
/** Left empty, the day on which it was new is not known. */
const fit = (key: string, machine: Detail, form: FormData): Promise<unknown> =>
  call('fitComponent', {
    params: { machineId: machine.id },
    body: {
      componentKey: key,
      fittedOn: text(form, 'on'),
      ...(text(form, 'age') === 'new' ? {} : { newOn: text(form, 'newOn') || null }),
    },
  })

function Age({ machine }: { machine: Detail }): ReactNode {
  const [age, setAge] = useState('new')
  return (
    <>
      <Field label="The one that is in now">
        {(id) => (
          <select id={id} name="age" value={age} onChange={(event) => setAge(event.target.value)}>
            <option value="new">was new</option>
            <option value="used">was used before</option>
          </select>
        )}
      </Field>
      {age === 'used' ? <Day label="It was new on" name="newOn" machine={machine} hint="Leave empty where nobody knows." /> : null}
    </>
  )
}

/** Two steps of the books, one of the desk: where the second is refused, the first stands and the page says which part is missing. */
export function Replaced({ part, machine, onDone }: OfPart): ReactNode {
  const taken = useStep<unknown>()
  const { error, submit } = useForm(
    (form) => taken(part.componentId, () => take(part, machine, form)).then(() => fit(part.componentType.key, machine, form)),
    onDone,
  )
  return (
    <form onSubmit={submit} className="asked">
      {error ? <Fault error={error} /> : null}
      <p className="soft small">For what was done without an order, or before the books began. What falls due by it is worked out anew.</p>
      <Day label="Replaced on" name="on" machine={machine} value={machine.today} required />
      <Choice label="The old one was" name="reason" options={REASONS} hint={WHY} />
      <Age machine={machine} />
      <button className="main">Write it down</button>
    </form>
  )
}

export function TakeOut({ part, machine, onDone }: OfPart): ReactNode {
  const { error, submit } = useForm((form) => take(part, machine, form), onDone)
  return (
    <form onSubmit={submit} className="asked">
      {error ? <Fault error={error} /> : null}
      <Day label="Taken out on" name="on" machine={machine} value={machine.today} required />
      <Choice label="It was" name="reason" options={WITH_MOVED} hint={WHY} />
      <Field label="Note">{(id) => <input id={id} name="note" maxLength={1000} />}</Field>
      <button className="main">Write it down</button>
    </form>
  )
}

export function FitPart({ machine, kind }: { machine: Detail; kind: Part['componentType'] }): ReactNode {
  const [open, setOpen] = useState(false)
  const { error, submit } = useForm(
    (form) => fit(kind.key, machine, form),
    () => setOpen(false),
  )
  return (
    <details className="no-print" open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>No {kind.name.toLowerCase()} is in it: one was fitted …</summary>
      <form onSubmit={submit} style={{ marginTop: 12 }}>
        {error ? <Fault error={error} /> : null}
        <Day label="Fitted on" name="on" machine={machine} value={machine.today} required />
        <Age machine={machine} />
        <button className="main">Write it down</button>
      </form>
    </details>
  )
}

export function PutPartRight({ part, machine, onDone }: OfPart): ReactNode {
  const { error, submit } = useForm((form) => {
    const said = {
      newOn: text(form, 'newOn') || null,
      fittedOn: text(form, 'fittedOn') || null,
      note: text(form, 'note'),
      ...(part.toDate === null ? {} : { removedOn: text(form, 'removedOn'), reason: text(form, 'reason') as Reason }),
    }
    return call('patchComponent', { params: { machineId: machine.id, placementId: part.placementId }, body: said })
  }, onDone)
  const reasons = [...WITH_MOVED].sort(([a], [b]) => Number(b === part.removalReason) - Number(a === part.removalReason))
  return (
    <form onSubmit={submit} className="asked">
      {error ? <Fault error={error} /> : null}
      <Day label="Was new on" name="newOn" machine={machine} value={part.newOn} hint="Empty: not known. Its age counts from there." />
      <Day label="Fitted here on" name="fittedOn" machine={machine} value={part.fromDate} hint="Empty: before the books began." />
      {part.toDate === null ? null : (
        <>
          <Day label="Taken out on" name="removedOn" machine={machine} value={part.toDate} required />
          <Choice label="It was" name="reason" options={reasons} hint={WHY} />
        </>
      )}
      <Field label="Note">{(id) => <input id={id} name="note" maxLength={1000} defaultValue={part.note} />}</Field>
      <button className="main">Put it right</button>
    </form>
  )
}
