/** Gives one order to a technician who may take it, at once. */
import { useQueryClient } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { Fault } from '../ui/parts.js'
import { useTechnicians } from './use-technicians.js'

export function Issue({ order }: { order: Pick<Answer<'getWorkOrder'>, 'id' | 'number' | 'warehouse' | 'skill'> }): ReactNode {
  const queries = useQueryClient()
  const { technicians, error: unread } = useTechnicians(order.warehouse.id, order.skill)
  const [error, setError] = useState<unknown>(null)
  async function issue(technicianId: string): Promise<void> {
    if (!technicianId) return
    setError(null)
    try {
      await call('issueWorkOrder', { params: { workOrderId: order.id }, body: { technicianId } })
      await queries.invalidateQueries()
    } catch (problem) {
      setError(problem)
    }
  }
  return (
    <>
      <label className="seen-by-readers" htmlFor={`issue-${order.id}`}>
        Issue order {order.number} to
      </label>
      <select id={`issue-${order.id}`} value="" onChange={(event) => void issue(event.target.value)}>
        <option value="">Issue to …</option>
        {technicians?.map(({ id, name }) => (
          <option key={id} value={id}>
            {name}
          </option>
        ))}
      </select>
      {(error ?? unread) ? <Fault error={error ?? unread} /> : null}
    </>
  )
}
