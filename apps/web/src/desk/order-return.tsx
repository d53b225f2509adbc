/** A finished order goes back to its technician: why, and which of its tasks are struck out, to be done again. */
import type { ReactNode } from 'react'
import { type Answer, call } from '../client/api.js'
import { Fault, Field } from '../ui/parts.js'
import { OpenedForm } from './part-form.js'
import { useChange } from './use-change.js'

export function ReturnOrder({ sheet, onEnd }: { sheet: Answer<'getWorkOrder'>; onEnd: () => void }): ReactNode {
  const { error, change } = useChange()
  const done = sheet.tasks.filter(({ outcome }) => outcome === 'done')
  function submit(form: FormData): void {
    const body = { reason: String(form.get('reason')), struckOutTaskIds: form.getAll('again').map(String) }
    void change(() => call('returnWorkOrder', { params: { workOrderId: sheet.id }, body }).then(onEnd))
  }
  return (
    <OpenedForm label={`Return order ${sheet.number}`} onSubmit={submit}>
      <h2>Return it to {sheet.technician?.name ?? 'the technician'}</h2>
      {error ? <Fault error={error} /> : null}
      <Field label="Why does it go back to the technician?">
        {(id) => <input id={id} name="reason" required maxLength={1000} autoComplete="off" />}
      </Field>
      {done.length > 0 ? (
        <fieldset className="plain">
          <legend>Do again</legend>
          {done.map(({ id, name }) => (
            <label key={id} className="box">
              <input type="checkbox" name="again" value={id} /> {name}
            </label>
          ))}
          <p className="soft small">What is ticked counts as not done, and its date comes back. What is not ticked stays done.</p>
        </fieldset>
      ) : null}
      <div className="row">
        <button className="main">Return it</button>
        <button type="button" onClick={onEnd}>
          Leave it
        </button>
      </div>
    </OpenedForm>
  )
}
