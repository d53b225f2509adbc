/** What was done at a machine, what went wrong, where it stood. */
import { useQuery } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { Link } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayDay, sayInstant, sayNumber, sayWord } from '../ui/format.js'

type Detail = Answer<'getMachine'>

export function Done({ machine }: { machine: Detail }): ReactNode {
  const [all, setAll] = useState(false)
  const done = useQuery({
    queryKey: ['machine', machine.id, 'records'],
    queryFn: () => call('machineServiceRecords', { params: { machineId: machine.id } }),
  })
  return (
    <section aria-labelledby="done">
      <h2 id="done">What was done</h2>
      {done.data && done.data.items.length === 0 ? <p className="soft">Nothing is written down yet.</p> : null}
      <p className="soft small">{(done.data?.items.length ?? 0) > 15 && !all ? 'The newest 15.' : ''}</p>
      <ul className="plain sentences">
        {done.data?.items.slice(0, all ? undefined : 15).map(({ id, doneOn, taskName, personName, workOrder, settles }) => (
          <li key={id}>
            {sayDay(doneOn, machine.today ?? '')}: {taskName}, {personName || 'by someone not named'}
            {workOrder ? (
              <>
                {' '}
                (order <Link to={`/work/${workOrder.id}`}>{workOrder.number}</Link>)
              </>
            ) : null}
            {settles ? '' : ' – kept as evidence, moved no date'}
          </li>
        ))}
      </ul>
      {(done.data?.items.length ?? 0) > 15 && !all ? <button onClick={() => setAll(true)}>All {done.data?.items.length}</button> : null}
    </section>
  )
}

export function Troubles({ machine }: { machine: Detail }): ReactNode {
  const list = useQuery({
    queryKey: ['machine', machine.id, 'stoppages'],
    queryFn: () => call('listStoppages', { query: { machineId: machine.id, limit: 20 } }),
  })
  return (
    <section aria-labelledby="troubles">
      <h2 id="troubles">Stoppages</h2>
      {list.data && list.data.items.length === 0 ? <p className="soft">None is written down.</p> : null}
      <ul className="plain sentences">
        {list.data?.items.map(({ id, failedAt, failureMode, cause, durations, open }) => (
          <li key={id}>
            {sayInstant(failedAt, machine.zone ?? 'UTC')}: {sayWord(failureMode)}, cause {sayWord(cause)};{' '}
            {sayNumber(durations.totalHours, 1)} hours{open ? ' so far' : ''}
          </li>
        ))}
      </ul>
    </section>
  )
}

export function Past({ machine }: { machine: Detail }): ReactNode {
  return (
    <section aria-labelledby="past">
      <h2 id="past">Where it stood</h2>
      <ul>
        {machine.placements.map(({ id, warehouse, station, fromAt, toAt }) => (
          <li key={id}>
            {warehouse.name}
            {station ? `, ${station.line} ${station.name}` : ', at no station'}: from {sayInstant(fromAt, machine.zone ?? 'UTC')}{' '}
            {toAt ? `to ${sayInstant(toAt, machine.zone ?? 'UTC')}` : 'until now'}
          </li>
        ))}
      </ul>
    </section>
  )
}
