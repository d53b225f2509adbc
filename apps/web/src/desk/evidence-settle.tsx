/** One piece of evidence that was set aside: what is wrong with it, and the two ways out. */
import { useQueryClient } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { Fault, Field } from '../ui/parts.js'
import { instantOf, wallOf } from '../ui/wall-time.js'

export type SetAsideItem = Answer<'listEvidence'>['items'][number]
type Replacement = NonNullable<Parameters<typeof call<'correctEvidence'>>[1]>['body'] extends { replacement: infer R } ? R : never

/** Evidence of these kinds can be put right here; the others are dismissed and given anew. */
const AMOUNT: Readonly<Record<string, string>> = {
  counter_reading: 'The counter showed',
  strips_day: 'Strips on the day',
  cartons_day: 'Cartons on the day',
  rolls: 'Rolls used',
}

/** The same piece with what the form says. @returns null where the time is none */
function replacementOf(item: SetAsideItem, form: FormData, zone: string): Replacement | null {
  const amount = Number(String(form.get('amount')).replace(',', '.'))
  const day = String(form.get('day') ?? '')
  const machineId = item.machine?.id
  switch (item.kind) {
    case 'counter_reading': {
      const at = instantOf(String(form.get('at')), zone)
      return at === null ? null : { kind: 'counter_reading', machineId, at, value: amount }
    }
    case 'strips_day':
      return { kind: 'strips_day', machineId, day, strips: amount }
    case 'cartons_day':
      return { kind: 'cartons_day', stationId: item.station?.id ?? '', day, cartons: amount }
    case 'rolls':
      return {
        kind: 'rolls',
        machineId,
        fromDate: day,
        toDate: String(form.get('toDay')),
        rolls: amount,
        rollMetres: Number(item.detail.rollMetres),
      }
    default:
      return null
  }
}

export function Settle({ item, zone, onDone }: { item: SetAsideItem; zone: string; onDone?: () => void }): ReactNode {
  const queries = useQueryClient()
  const [error, setError] = useState<unknown>(null)
  const [busy, setBusy] = useState(false)
  const params = { evidenceId: item.id }
  const act = (doing: () => Promise<unknown>): void => {
    setBusy(true)
    setError(null)
    doing()
      .then(() => onDone?.())
      .then(() => queries.invalidateQueries())
      .catch(setError)
      .finally(() => setBusy(false))
  }
  function correct(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const replacement = replacementOf(item, form, zone)
    if (replacement) act(() => call('correctEvidence', { params, body: { replacement, reason: String(form.get('reason')) } }))
  }
  function dismiss(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    act(() => call('dismissEvidence', { params, body: { reason: String(new FormData(event.currentTarget).get('reason')) } }))
  }
  const amountLabel = AMOUNT[item.kind]
  return (
    <>
      {error ? <Fault error={error} /> : null}
      <details>
        <summary>Correct or dismiss…</summary>
        {amountLabel ? (
          <form onSubmit={correct} style={{ marginTop: 12 }}>
            <Field label={amountLabel}>
              {(id) => (
                <input id={id} name="amount" inputMode="decimal" required pattern="[0-9]+([.,][0-9]+)?" defaultValue={item.amount ?? ''} />
              )}
            </Field>
            <When item={item} zone={zone} />
            <Field label="What was wrong">{(id) => <input id={id} name="reason" required maxLength={1000} />}</Field>
            <button className="main" disabled={busy}>
              Correct
            </button>
          </form>
        ) : null}
        <form onSubmit={dismiss} style={{ marginTop: 12 }}>
          <Field label="Why it is dismissed">{(id) => <input id={id} name="reason" required maxLength={1000} />}</Field>
          <button disabled={busy}>Dismiss</button>
        </form>
      </details>
    </>
  )
}

function When({ item, zone }: { item: SetAsideItem; zone: string }): ReactNode {
  if (item.kind === 'counter_reading')
    return (
      <Field label="At" hint={`By the clocks of the warehouse (${zone}).`}>
        {(id) => <input id={id} name="at" type="datetime-local" required defaultValue={item.at ? wallOf(item.at, zone) : ''} />}
      </Field>
    )
  return (
    <>
      <Field label={item.kind === 'rolls' ? 'First day' : 'Day'}>
        {(id) => <input id={id} name="day" type="date" required defaultValue={item.fromDate} />}
      </Field>
      {item.kind === 'rolls' ? (
        <Field label="Last day">{(id) => <input id={id} name="toDay" type="date" required defaultValue={item.toDate} />}</Field>
      ) : null}
    </>
  )
}
