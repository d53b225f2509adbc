/** When each kind of care of one machine falls due, and which of it is on the books already: late, ordered, on the month's list. */
import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { Link } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayDay } from '../ui/format.js'
import { Bones, Fault } from '../ui/parts.js'

type Detail = Answer<'getMachine'>
type Forecast = Answer<'machineForecasts'>['items'][number]
type Open = Answer<'listOccurrences'>['items'][number]

export function Dates({ machine }: { machine: Detail }): ReactNode {
  const machineId = machine.id
  const dates = useQuery({
    queryKey: ['machine', machineId, 'forecasts'],
    queryFn: () => call('machineForecasts', { params: { machineId } }),
  })
  const open = useQuery({
    queryKey: ['machine', machineId, 'open'],
    queryFn: () => call('listOccurrences', { query: { machineId, state: 'open', limit: 200 } }),
  })
  const today = machine.today ?? ''
  const failed = [dates, open].find(({ error }) => error !== null)
  const opened = new Map(open.data?.items.map((one) => [one.serviceTaskId, one]))
  const dueOn = (date: Forecast): string => opened.get(date.serviceTaskId)?.dueOn ?? date.likelyOn ?? '9'
  return (
    <section aria-labelledby="dates">
      <h2 id="dates">When care falls due</h2>
      {failed ? <Fault error={failed.error} again={() => void failed.refetch()} /> : null}
      {!failed && (dates.isPending || open.isPending) ? <Bones lines={12} /> : null}
      {dates.data && open.data ? (
        <div className="wide">
          <table className="stacked">
            <thead>
              <tr>
                <th>Task</th>
                <th>Due</th>
                <th>Why</th>
                <th>Last done</th>
              </tr>
            </thead>
            <tbody>
              {[...dates.data.items]
                .sort((a, b) => dueOn(a).localeCompare(dueOn(b)))
                .map((date) => (
                  <Row key={date.serviceTaskId} date={date} open={opened.get(date.serviceTaskId)} today={today} />
                ))}
            </tbody>
          </table>
        </div>
      ) : null}
    </section>
  )
}

/** Where care is open, its own day and reason; what the evidence says by now comes below, where it says something else. */
function Row({ date, open, today }: { date: Forecast; open: Open | undefined; today: string }): ReactNode {
  const agreed = open === undefined || open.nominalOn === date.likelyOn
  return (
    <tr>
      <td>
        {date.taskName}
        {date.safetyCheck ? <div className="soft">safety check</div> : null}
      </td>
      <td className="strong" style={{ whiteSpace: 'nowrap' }}>
        {sayDay(open?.dueOn ?? date.likelyOn, today)}
        {open ? <Standing open={open} today={today} /> : null}
        {date.noLaterThan ? <div className="soft small">no later than {sayDay(date.noLaterThan, today)}</div> : null}
      </td>
      <td>
        {agreed ? date.why : open.why}
        {agreed ? null : <div className="soft small">By the evidence as it is now: {date.why}</div>}
        <details className="soft small">
          <summary>How far can this be trusted?</summary>
          {date.trust}
        </details>
      </td>
      <td data-label="Last done">{date.lastDoneOn ? sayDay(date.lastDoneOn, today) : <span className="soft">not known</span>}</td>
    </tr>
  )
}

function Standing({ open, today }: { open: Open; today: string }): ReactNode {
  return (
    <>
      {open.doNotUse ? (
        <div className="alarm" style={{ whiteSpace: 'normal' }}>
          Do not use until checked, or as your site’s rules say
        </div>
      ) : open.late ? (
        <div>late since {sayDay(open.lateFrom, today)}</div>
      ) : null}
      {open.kind === 'monthly' ? <div className="soft small">on this month’s list</div> : null}
      {open.workOrder ? (
        <div className="small">
          <Link to={`/work/${open.workOrder.id}`}>order {open.workOrder.number}</Link>
        </div>
      ) : null}
    </>
  )
}
