/** A warehouse itself: its name, clocks and address, and what an hour costs there. */
import { type ReactNode, useRef, useState } from 'react'
import { call } from '../client/api.js'
import { sayMoney } from '../ui/format.js'
import { Field } from '../ui/parts.js'
import { OpenedForm } from './part-form.js'
import { RecordFault, useRecordChange, type Words } from './record-change.js'
import type { Hall, HallPart } from './use-change.js'

type Fields = Pick<Hall, 'name' | 'zone' | 'address' | 'currency' | 'labourCostPerHour' | 'stoppageCostPerHour'>

const costOf = (form: FormData, name: string): number | null => {
  const given = String(form.get(name)).trim()
  return given === '' ? null : Number(given)
}
const fieldsOf = (form: FormData): Fields => ({
  name: String(form.get('name')).trim(),
  zone: String(form.get('zone')),
  address: String(form.get('address')).trim(),
  currency: String(form.get('currency')).trim().toUpperCase(),
  labourCostPerHour: costOf(form, 'labour'),
  stoppageCostPerHour: costOf(form, 'stoppage'),
})
const sayCost = (value: number | null): string => (value === null ? 'not known' : String(value))
const WORDS: Words<Fields> = {
  name: ['Name', (name) => name],
  zone: ['Time zone', (zone) => zone],
  address: ['Address', (address) => address || 'none'],
  currency: ['Currency', (currency) => currency],
  labourCostPerHour: ['An hour of technicians’ work', sayCost],
  stoppageCostPerHour: ['An hour of one machine’s stoppage', sayCost],
}

export function WarehouseFacts({ hall, decides }: HallPart): ReactNode {
  const [changing, setChanging] = useState(false)
  const heading = useRef<HTMLHeadingElement>(null)
  const cost = (value: number | null): string => (value === null ? 'is not known' : `costs ${sayMoney(value, hall.currency)}`)
  const end = (): void => {
    setChanging(false)
    heading.current?.focus()
  }
  return (
    <section aria-labelledby="facts">
      <h2 id="facts" ref={heading} tabIndex={-1}>
        The warehouse itself
      </h2>
      <p>
        {hall.address ? `${hall.address}. ` : ''}An hour of technicians’ work {cost(hall.labourCostPerHour)}; an hour of one machine’s
        stoppage {cost(hall.stoppageCostPerHour)}.
      </p>
      {changing ? <Change hall={hall} onEnd={end} /> : null}
      {decides && !changing ? (
        <button aria-label={`Change… ${hall.name}`} onClick={() => setChanging(true)}>
          Change…
        </button>
      ) : null}
    </section>
  )
}

function Change({ hall, onEnd }: { hall: Hall; onEnd: () => void }): ReactNode {
  const params = { warehouseId: hall.id }
  const { opened, now, error, keep } = useRecordChange<Fields>({
    record: hall,
    read: () => call('getWarehouse', { params }),
    send: (body) => call('patchWarehouse', { params, body }),
    onEnd,
  })
  return (
    <OpenedForm label={`Change ${hall.name}`} onSubmit={(form) => keep(fieldsOf(form))}>
      <RecordFault error={error} opened={opened} now={now} words={WORDS} />
      <Field label="Name">{(id) => <input id={id} name="name" required maxLength={200} defaultValue={opened.name} />}</Field>
      <Field label="Time zone" hint="All days of use and of care are by these clocks. Change them only where they were chosen wrongly.">
        {(id) => (
          <select id={id} name="zone" defaultValue={opened.zone}>
            {[...new Set([opened.zone, ...Intl.supportedValuesOf('timeZone')])].toSorted().map((zone) => (
              <option key={zone}>{zone}</option>
            ))}
          </select>
        )}
      </Field>
      <Field label="Address">{(id) => <textarea id={id} name="address" maxLength={1000} defaultValue={opened.address} />}</Field>
      <Field label="Currency" hint="Three letters, such as EUR.">
        {(id) => <input id={id} name="currency" required pattern="[A-Za-z]{3}" maxLength={3} defaultValue={opened.currency} />}
      </Field>
      <Cost name="labour" label="An hour of technicians’ work costs" value={opened.labourCostPerHour} />
      <Cost name="stoppage" label="An hour of one machine’s stoppage costs" value={opened.stoppageCostPerHour} />
      <div className="row">
        <button className="main">Keep</button>
        <button type="button" onClick={onEnd}>
          Leave as it was
        </button>
      </div>
    </OpenedForm>
  )
}

function Cost({ name, label, value }: { name: string; label: string; value: number | null }): ReactNode {
  return (
    <Field label={label} hint="Left empty: not known, and no cost is shown.">
      {(id) => <input id={id} name={name} type="number" inputMode="decimal" min="0" step="0.01" defaultValue={value ?? ''} />}
    </Field>
  )
}
