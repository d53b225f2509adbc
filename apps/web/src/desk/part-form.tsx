/** One part: what it is called, which component it replaces, which types it fits. */
import { useQuery } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useEffect, useRef, useState } from 'react'
import { call } from '../client/api.js'
import { Bones, Fault, Field } from '../ui/parts.js'
import type { Part } from './part-stock.js'
import { useChange } from './use-change.js'

/** A form that opens where a button was pressed takes the focus, or a keyboard would be left where nothing is any more. */
export function OpenedForm({
  label,
  onSubmit,
  children,
}: {
  label: string
  onSubmit: (form: FormData) => void
  children: ReactNode
}): ReactNode {
  const form = useRef<HTMLFormElement>(null)
  useEffect(() => form.current?.querySelector<HTMLElement>('input:not([type=hidden]), select')?.focus(), [])
  function submit(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    onSubmit(new FormData(event.currentTarget))
  }
  return (
    <form ref={form} onSubmit={submit} aria-label={label}>
      {children}
    </form>
  )
}

export function PartForm({ part, onEnd }: { part?: Part; onEnd: () => void }): ReactNode {
  const { error, change } = useChange()
  const components = useQuery({ queryKey: ['component-types'], queryFn: () => call('listComponentTypes', {}) })
  const types = useQuery({ queryKey: ['machine-types'], queryFn: () => call('listMachineTypes', {}) })
  const [componentKey, setComponentKey] = useState(part?.componentKey ?? '')
  const missing = components.error ?? types.error
  if (missing) return <Fault error={missing} again={() => void Promise.all([components.refetch(), types.refetch()])} />
  if (!components.data || !types.data) return <Bones lines={3} />
  function submit(form: FormData): void {
    const price = String(form.get('price')).trim()
    const body = {
      name: String(form.get('name')).trim(),
      stockCode: String(form.get('stockCode')).trim(),
      componentKey: componentKey || null,
      price: price === '' ? null : Number(price),
      fitsMachineTypeIds: form.getAll('fits').map(String),
    }
    void change(() => (part ? call('patchPart', { params: { partId: part.id }, body }) : call('createPart', { body })).then(onEnd))
  }
  /** Only types that have the component: the wrong part is not offered. */
  const having = types.data.items.filter(({ componentTypes }) => !componentKey || componentTypes.some(({ key }) => key === componentKey))
  return (
    <>
      <OpenedForm onSubmit={submit} label={part ? `Change ${part.name}` : 'Add a part'}>
        {part ? null : <h3>A part for the books</h3>}
        {error ? <Fault error={error} /> : null}
        <div className="row">
          <Field label="Name">{(id) => <input id={id} name="name" required maxLength={200} defaultValue={part?.name} />}</Field>
          <Field label="Stock code" hint="Your own; each once.">
            {(id) => <input id={id} name="stockCode" required maxLength={60} defaultValue={part?.stockCode} />}
          </Field>
          <Field label="It replaces">
            {(id) => (
              <select id={id} value={componentKey} onChange={(event) => setComponentKey(event.target.value)}>
                <option value="">nothing that dates are made for</option>
                {components.data.items.map(({ key, name }) => (
                  <option key={key} value={key}>
                    {name}
                  </option>
                ))}
              </select>
            )}
          </Field>
          <Field label="Price of one" hint="Left empty: not known.">
            {(id) => <input id={id} name="price" type="number" inputMode="decimal" min="0" step="0.01" defaultValue={part?.price ?? ''} />}
          </Field>
        </div>
        <fieldset className="plain">
          <legend>Machine types that it fits</legend>
          {having.length === 0 ? <p className="soft">No machine type has this component.</p> : null}
          {having.map(({ id, name }) => (
            <label key={id} className="box">
              <input type="checkbox" name="fits" value={id} defaultChecked={part?.fits.some(({ machineTypeId }) => machineTypeId === id)} />{' '}
              {name}
            </label>
          ))}
        </fieldset>
        <button className="main">Keep</button>{' '}
        <button type="button" onClick={onEnd}>
          Leave as it was
        </button>
      </OpenedForm>
      {part ? <TakeOut part={part} onEnd={onEnd} /> : null}
    </>
  )
}

/** For a part that nobody keeps any more, and for one that was added by mistake; it can be put back. */
function TakeOut({ part, onEnd }: { part: Part; onEnd: () => void }): ReactNode {
  const { error, change } = useChange()
  const [asking, setAsking] = useState(false)
  const takeOut = (): Promise<unknown> => call('patchPart', { params: { partId: part.id }, body: { inBooks: false } }).then(onEnd)
  if (!asking)
    return (
      <p style={{ marginTop: 24 }}>
        <button className="small" onClick={() => setAsking(true)}>
          Take it out of the books…
        </button>
      </p>
    )
  return (
    <div role="group" aria-label={`Take ${part.name} out of the books`} style={{ marginTop: 24 }}>
      {error ? <Fault error={error} /> : null}
      <p>It will not be offered on work orders nor asked for any more. Where it was used stays in the story of the machines.</p>
      <button onClick={() => void change(takeOut)}>Take it out</button>{' '}
      <button onClick={() => setAsking(false)}>Keep it in the books</button>
    </div>
  )
}
