/** What is on the shelves, part by part and warehouse by warehouse; counted here. */
import { Fragment, type ReactNode, useState } from 'react'
import type { Answer } from '../client/api.js'
import { call } from '../client/api.js'
import { sayNumber } from '../ui/format.js'
import { Fault, Field } from '../ui/parts.js'
import { mayDecide, useMe } from './me.js'
import { OpenedForm, PartForm } from './part-form.js'
import { useChange } from './use-change.js'

export type Part = Answer<'listParts'>['items'][number]
type Place = Part['stock'][number]
type Counted = Pick<Place, 'warehouseId' | 'warehouseName'> & Partial<Place>

const COLUMNS = 6

export function PartStock({ parts }: { parts: readonly Part[] }): ReactNode {
  const me = useMe()
  return (
    <div className="wide">
      <table className="stacked">
        <thead>
          <tr>
            <th>Where</th>
            <th className="figure">On hand</th>
            <th className="figure">Reserved</th>
            <th className="figure">On order</th>
            <th className="figure">Days to come</th>
            <th>
              <span className="seen-by-readers">{mayDecide(me) ? 'Count' : 'Counted by a manager'}</span>
            </th>
          </tr>
        </thead>
        <tbody>
          {parts.map((part) => (
            <OnePart key={part.id} part={part} />
          ))}
        </tbody>
      </table>
    </div>
  )
}

/** Which row's form is open: a warehouse to count in, 'elsewhere', the part itself, or none. */
type Open = { count: Counted } | 'elsewhere' | 'part' | null

function OnePart({ part }: { part: Part }): ReactNode {
  const me = useMe()
  const decides = mayDecide(me)
  const [open, setOpen] = useState<Open>(null)
  const elsewhere = me.warehouses.filter(({ id }) => !part.stock.some(({ warehouseId }) => warehouseId === id))
  const counting = open !== null && typeof open === 'object' ? open.count : null
  const end = (): void => setOpen(null)
  return (
    <>
      <tr className="group">
        <th colSpan={COLUMNS} scope="colgroup">
          <strong>
            {part.name} ({part.stockCode})
          </strong>{' '}
          {sayPart(part)}{' '}
          {decides ? (
            <>
              <button className="small" onClick={() => setOpen('part')} aria-label={`Change… ${part.name}`}>
                Change…
              </button>{' '}
              {elsewhere.length > 0 ? (
                <button className="small" onClick={() => setOpen('elsewhere')} aria-label={`Count at another warehouse… ${part.name}`}>
                  {part.stock.length === 0 ? 'Count…' : 'Count elsewhere…'}
                </button>
              ) : null}
            </>
          ) : null}
        </th>
      </tr>
      {open === 'part' ? (
        <FormRow>
          <PartForm part={part} onEnd={end} />
        </FormRow>
      ) : null}
      {open === 'elsewhere' ? (
        <FormRow>
          <Count part={part} onEnd={end} among={elsewhere.map(({ id, name }) => ({ warehouseId: id, warehouseName: name }))} />
        </FormRow>
      ) : null}
      {part.stock.length === 0 ? (
        <tr>
          <td colSpan={COLUMNS} className="soft">
            Not counted anywhere yet.
          </td>
        </tr>
      ) : null}
      {part.stock.map((place) => (
        <Fragment key={place.warehouseId}>
          <StockRow place={place}>
            {decides ? (
              <button
                className="small"
                onClick={() => setOpen({ count: place })}
                aria-label={`Count… ${part.name} at ${place.warehouseName}`}
              >
                Count…
              </button>
            ) : null}
          </StockRow>
          {counting?.warehouseId === place.warehouseId ? (
            <FormRow>
              <Count part={part} among={[place]} onEnd={end} />
            </FormRow>
          ) : null}
        </Fragment>
      ))}
    </>
  )
}

const sayPart = ({ componentKey, fits, price }: Part): string =>
  [
    componentKey?.replaceAll('_', ' '),
    fits.length > 0 ? `fits ${fits.map(({ name }) => name).join('; ')}` : 'fits no type yet',
    price === null ? null : `${sayNumber(price)} each`,
  ]
    .filter(Boolean)
    .join(' · ')

const FormRow = ({ children }: { children: ReactNode }): ReactNode => (
  <tr>
    <td colSpan={COLUMNS}>{children}</td>
  </tr>
)

function StockRow({ place, children }: { place: Place; children: ReactNode }): ReactNode {
  const spread = place.leadTimeSpreadDays > 0 ? ` ± ${place.leadTimeSpreadDays}` : ''
  return (
    <tr>
      <td>{place.warehouseName}</td>
      <td className="figure" data-label="On hand">
        {place.onHand}
      </td>
      <td className="figure" data-label="Reserved">
        {place.reserved}
      </td>
      <td className="figure" data-label="On order">
        {place.onOrder}
      </td>
      <td className="figure" data-label="Days to come">
        {place.leadTimeDays}
        {spread}
      </td>
      <td>{children}</td>
    </tr>
  )
}

const FIGURES = [
  ['onHand', 'On hand', 0],
  ['onOrder', 'On order', 0],
  ['leadTimeDays', 'Days to come', 14],
  ['leadTimeSpreadDays', 'Give or take, days', 0],
] as const

/** What was counted on the shelf takes the place of what the books say. */
function Count({ part, among, onEnd }: { part: Part; among: readonly Counted[]; onEnd: () => void }): ReactNode {
  const { error, change } = useChange()
  const [first] = among
  function submit(form: FormData): void {
    const whole = (field: string): number => Number(form.get(field))
    const body = {
      onHand: whole('onHand'),
      onOrder: whole('onOrder'),
      leadTimeDays: whole('leadTimeDays'),
      leadTimeSpreadDays: whole('leadTimeSpreadDays'),
    }
    const params = { partId: part.id, warehouseId: String(form.get('warehouseId')) }
    void change(() => call('putPartStock', { params, body }).then(onEnd))
  }
  return (
    <OpenedForm onSubmit={submit} label={`Count ${part.name}`}>
      {error ? <Fault error={error} /> : null}
      <div className="row">
        {among.length === 1 && first ? (
          <p>
            <input type="hidden" name="warehouseId" value={first.warehouseId} />
            {part.name}, counted at {first.warehouseName}:
          </p>
        ) : (
          <Field label="Counted at">
            {(id) => (
              <select id={id} name="warehouseId">
                {among.map(({ warehouseId, warehouseName }) => (
                  <option key={warehouseId} value={warehouseId}>
                    {warehouseName}
                  </option>
                ))}
              </select>
            )}
          </Field>
        )}
        {FIGURES.map(([field, label, usual]) => (
          <Field key={field} label={label}>
            {(id) => (
              <input
                id={id}
                name={field}
                type="number"
                inputMode="numeric"
                min={0}
                max={field.startsWith('lead') ? 400 : 1_000_000}
                step={1}
                required
                defaultValue={first?.[field] ?? usual}
              />
            )}
          </Field>
        ))}
        <button className="main">Keep</button>
        <button type="button" onClick={onEnd}>
          Leave as it was
        </button>
      </div>
    </OpenedForm>
  )
}
