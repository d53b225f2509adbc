/** What the dates and the age of parts ask for, at a chosen chance that nothing is missing. */
import { keepPreviousData, useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { Link, useSearchParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayDay, sayNumber } from '../ui/format.js'
import { Bones, Fault, Field } from '../ui/parts.js'
import { mayDecide, useMe, useToday } from './me.js'
import { SURE, withValue } from './part-choices.js'

type Need = Answer<'partNeeds'>['items'][number]

const DAYS = [30, 60, 90, 180]
const USUAL_DAYS = 90

/** A whole number out of the address; anything else is as if it were not there. */
function readWhole(text: string | null, least: number, most: number): number | null {
  const value = Number(text)
  return text !== null && Number.isInteger(value) && value >= least && value <= most ? value : null
}

export function PartNeeds({ where }: { where: { warehouseId?: string } }): ReactNode {
  const me = useMe()
  const [search, setSearch] = useSearchParams()
  const days = readWhole(search.get('days'), 1, 400) ?? USUAL_DAYS
  const servicePercent = readWhole(search.get('sure'), 50, 99)
  const asked = { days, ...where, ...(servicePercent === null ? {} : { servicePercent }) }
  const needs = useQuery({
    queryKey: ['part-needs', asked],
    queryFn: () => call('partNeeds', { query: asked }),
    placeholderData: keepPreviousData,
  })
  const put = (name: string, value: string): void => {
    const next = new URLSearchParams(search)
    if (value) next.set(name, value)
    else next.delete(name)
    setSearch(next, { replace: true })
  }
  return (
    <section aria-labelledby="needs">
      <h2 id="needs">What the next {days} days ask for</h2>
      <div className="row no-print">
        {me.warehouses.length > 1 ? (
          <Field label="Warehouse">
            {(id) => (
              <select id={id} value={where.warehouseId ?? ''} onChange={(event) => put('warehouseId', event.target.value)}>
                <option value="">all</option>
                {me.warehouses.map((warehouse) => (
                  <option key={warehouse.id} value={warehouse.id}>
                    {warehouse.name}
                  </option>
                ))}
              </select>
            )}
          </Field>
        ) : null}
        <Field label="Looking ahead" unit="days">
          {(id) => (
            <select id={id} value={days} onChange={(event) => put('days', event.target.value)}>
              {withValue(DAYS, days).map((value) => (
                <option key={value}>{value}</option>
              ))}
            </select>
          )}
        </Field>
        <Field label="How sure that nothing is missing">
          {(id) => (
            <select id={id} value={servicePercent ?? ''} onChange={(event) => put('sure', event.target.value)}>
              <option value="">as each warehouse has chosen</option>
              {withValue(SURE, servicePercent).map((value) => (
                <option key={value} value={value}>
                  {value} %
                </option>
              ))}
            </select>
          )}
        </Field>
      </div>
      {needs.isPending ? <Bones lines={24} /> : null}
      {needs.error ? <Fault error={needs.error} again={() => void needs.refetch()} /> : null}
      {needs.data?.items.length === 0 ? <p className="soft">No part is asked for.</p> : null}
      <ul className="plain sentences">
        {needs.data?.items.map((need) => (
          <li key={`${need.partId ?? need.componentKey}${need.warehouseId}`}>
            <span className={need.orderBy === null ? undefined : 'strong'}>{need.sentence}</span>
            <Behind need={need} />
          </li>
        ))}
      </ul>
      {mayDecide(me) && needs.data && needs.data.items.length > 0 ? (
        <p className="soft">
          The mails say the same, a week before an order must be placed. How sure a warehouse wants to be is kept with it, in{' '}
          <Link to="/set-up">Set-up</Link>.
        </p>
      ) : null}
    </section>
  )
}

/** A chance in whole percent; never 0 nor 100 where it is neither. */
function sayChance(chance: number): string {
  if (chance >= 0.9995) return 'certain'
  if (chance > 0.99) return 'over 99 %'
  return chance < 0.01 ? 'under 1 %' : `${Math.round(chance * 100)} %`
}

function Behind({ need }: { need: Need }): ReactNode {
  const today = useToday(need.warehouseId)
  const lead =
    need.leadTimeDays === null
      ? 'No lead time is in the books; a fortnight is taken.'
      : `It takes ${need.leadTimeDays} days to come${need.leadTimeSpreadDays > 0 ? `, give or take ${need.leadTimeSpreadDays}` : ''}.`
  return (
    <details>
      <summary>Which machines, and how sure</summary>
      <p className="soft">
        On hand {need.onHand}, on order {need.onOrder}. {lead}
      </p>
      <table className="stacked">
        <thead>
          <tr>
            <th>Machine</th>
            <th>What may take it</th>
            <th>Likely</th>
            <th className="figure">Chance</th>
            <th className="figure">Pieces</th>
          </tr>
        </thead>
        <tbody>
          {need.machines.map((machine) => (
            <tr key={machine.machineId}>
              <td>
                <Link to={`/machines/${machine.machineId}`}>{machine.labelCode}</Link>
              </td>
              <td>{machine.taskName ?? 'It may fail'}</td>
              <td data-label="Likely">{machine.likelyOn === null ? 'no date' : sayDay(machine.likelyOn, today)}</td>
              <td className="figure" data-label="Chance">
                {sayChance(machine.chance)}
              </td>
              <td className="figure" data-label="Pieces">
                {machine.quantity}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      {need.others.machines > 0 ? (
        <p className="soft">
          And {need.others.machines} machines with smaller chances, {sayNumber(need.others.expected)} pieces together.
        </p>
      ) : null}
    </details>
  )
}
