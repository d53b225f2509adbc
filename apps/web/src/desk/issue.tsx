/** Gives one order to a technician who may take it: chosen, then issued. Going through the names by the arrow keys issues nothing. */
import { type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { Fault } from '../ui/parts.js'
import { useChange } from './use-change.js'
import { useTechnicians } from './use-technicians.js'

export function Issue({ order }: { order: Pick<Answer<'getWorkOrder'>, 'id' | 'number' | 'warehouse' | 'skill'> }): ReactNode {
  const { technicians, error: unread } = useTechnicians(order.warehouse.id, order.skill)
  const { error, change } = useChange()
  const [technicianId, setTechnicianId] = useState('')
  const chosen = technicians?.find(({ id }) => id === technicianId)
  return (
    <div className="with-button">
      <label className="seen-by-readers" htmlFor={`issue-${order.id}`}>
        Issue order {order.number} to
      </label>
      <select id={`issue-${order.id}`} value={technicianId} onChange={(event) => setTechnicianId(event.target.value)}>
        <option value="">Issue to …</option>
        {technicians?.map(({ id, name }) => (
          <option key={id} value={id}>
            {name}
          </option>
        ))}
      </select>
      {chosen ? (
        <button
          className="small main"
          aria-label={`Issue order ${order.number} to ${chosen.name}`}
          onClick={() => void change(() => call('issueWorkOrder', { params: { workOrderId: order.id }, body: { technicianId } }))}
        >
          Issue
        </button>
      ) : null}
      {(error ?? unread) ? <Fault error={error ?? unread} /> : null}
    </div>
  )
}
