/** One machine's story: where it stands, its use, the wear of its brushes, its dates with why, what was done and what went wrong. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { Link, useParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { UseChart, WearChart } from '../ui/charts.js'
import { sayDay, sayInstant, sayNumber, sayWord } from '../ui/format.js'
import { Bones, Fault, Field, Heading } from '../ui/parts.js'
import { mayDecide, useMe } from './me.js'

export function Machine(): ReactNode {
  const { machineId = '' } = useParams()
  const params = { machineId }
  const machine = useQuery({ queryKey: ['machine', machineId], queryFn: () => call('getMachine', { params }) })
  if (machine.isPending) return <Bones lines={12} />
  if (machine.error) return <Fault error={machine.error} again={() => void machine.refetch()} />
  const { data } = machine
  return (
    <>
      <Heading title={data.labelCode}>
        {data.labelCode} <span className="soft">{data.machineType.name}</span>
      </Heading>
      <Where machine={data} />
      {data.notices.map((notice) => (
        <p key={notice} className="note">
          {notice}
        </p>
      ))}
      <Dates machine={data} />
      <Use machine={data} />
      <Wear machine={data} />
      <SetAside machineId={machineId} />
      <Done machine={data} />
      <Troubles machine={data} />
      <Past machine={data} />
    </>
  )
}

type Detail = Answer<'getMachine'>

function Where({ machine }: { machine: Detail }): ReactNode {
  const me = useMe()
  const place = machine.station
    ? `${machine.warehouse?.name}, line ${machine.station.line}, station ${machine.station.name}`
    : machine.warehouse
      ? `${machine.warehouse.name}, at no station`
      : 'at no known place'
  return (
    <>
      <p>
        {sayWord(machine.status).replace(/^./, (letter) => letter.toUpperCase())} since{' '}
        {sayDay(machine.statusSince, machine.today ?? machine.statusSince)}, {place}. Serial number {machine.serialNumber}; commissioned{' '}
        {machine.commissionedOn === null ? 'on a day not known' : sayDay(machine.commissionedOn, '')}; {sayNumber(machine.stripsTotal)}{' '}
        strips in the books.
        {machine.machineType.heater ? ' Has a heater.' : ' No heater.'}{' '}
        {machine.machineType.supply === 'wired_in'
          ? 'Wired in.'
          : machine.machineType.supply === 'none'
            ? 'Hand-driven.'
            : 'Cord and plug.'}
      </p>
      {machine.openStoppage ? (
        <p className="note alarmed">
          Stands still since {sayInstant(machine.openStoppage.failedAt, machine.zone ?? 'UTC')}: {sayWord(machine.openStoppage.failureMode)}
          .
        </p>
      ) : null}
      {machine.doNotUse ? (
        <p className="note alarmed">Do not use until checked, or as your site’s rules say: a safety check is past its day.</p>
      ) : null}
      {mayDecide(me) ? <ChangeStatus machine={machine} /> : null}
    </>
  )
}

function ChangeStatus({ machine }: { machine: Detail }): ReactNode {
  const queries = useQueryClient()
  const [error, setError] = useState<unknown>(null)
  async function submit(event: FormEvent<HTMLFormElement>): Promise<void> {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    try {
      await call('changeMachineStatus', {
        params: { machineId: machine.id },
        body: { status: form.get('status') as Detail['status'], reason: String(form.get('reason')) },
      })
      await queries.invalidateQueries()
    } catch (problem) {
      setError(problem)
    }
  }
  return (
    <details className="no-print">
      <summary>To the shelf, the bench, tag out, back into service …</summary>
      <form onSubmit={(event) => void submit(event)} style={{ marginTop: 12 }}>
        {error ? <Fault error={error} /> : null}
        <Field label="Now">
          {(id) => (
            <select id={id} name="status" defaultValue={machine.status}>
              {['in_service', 'on_the_shelf', 'at_the_bench', 'away_for_repair', 'tagged_out', 'not_found', 'retired'].map((status) => (
                <option key={status} value={status}>
                  {sayWord(status)}
                </option>
              ))}
            </select>
          )}
        </Field>
        <Field label="Reason">{(id) => <input id={id} name="reason" maxLength={1000} />}</Field>
        <button>Write it down</button>
      </form>
    </details>
  )
}

function Dates({ machine }: { machine: Detail }): ReactNode {
  const params = { machineId: machine.id }
  const dates = useQuery({ queryKey: ['machine', machine.id, 'forecasts'], queryFn: () => call('machineForecasts', { params }) })
  const today = machine.today ?? ''
  return (
    <section aria-labelledby="dates">
      <h2 id="dates">When care falls due</h2>
      {dates.isPending ? <Bones /> : null}
      {dates.error ? <Fault error={dates.error} again={() => void dates.refetch()} /> : null}
      {dates.data ? (
        <div className="wide">
          <table>
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
                .sort((a, b) => (a.likelyOn ?? '9').localeCompare(b.likelyOn ?? '9'))
                .map((date) => (
                  <tr key={date.serviceTaskId}>
                    <td>
                      {date.taskName}
                      {date.safetyCheck ? <div className="soft">safety check</div> : null}
                    </td>
                    <td className="strong" style={{ whiteSpace: 'nowrap' }}>
                      {sayDay(date.likelyOn, today)}
                      {date.noLaterThan ? <div className="soft small">no later than {sayDay(date.noLaterThan, today)}</div> : null}
                    </td>
                    <td>
                      {date.why}
                      <details className="soft small">
                        <summary>How far can this be trusted?</summary>
                        {date.trust}
                      </details>
                    </td>
                    <td>{date.lastDoneOn ? sayDay(date.lastDoneOn, today) : <span className="soft">not known</span>}</td>
                  </tr>
                ))}
            </tbody>
          </table>
        </div>
      ) : null}
    </section>
  )
}

function Use({ machine }: { machine: Detail }): ReactNode {
  const use = useQuery({
    queryKey: ['machine', machine.id, 'usage'],
    queryFn: () => call('machineUsage', { params: { machineId: machine.id }, query: {} }),
  })
  return (
    <section aria-labelledby="use">
      <h2 id="use">How much work it did</h2>
      {use.isPending ? <Bones lines={4} /> : null}
      {use.error ? <Fault error={use.error} again={() => void use.refetch()} /> : null}
      {use.data ? <UseChart days={use.data.days} peaks={use.data.peaks} label={`Strips a week of ${machine.labelCode}`} /> : null}
      {use.data && use.data.days.length > 0 ? (
        <p className="soft small">
          Days known by:{' '}
          {Object.entries(use.data.daysByKind)
            .map(([kind, count]) => `${kind} ${count}`)
            .join(', ')}
          .
        </p>
      ) : null}
      <GiveReading machine={machine} />
    </section>
  )
}

function GiveReading({ machine }: { machine: Detail }): ReactNode {
  const queries = useQueryClient()
  const [said, setSaid] = useState<ReactNode>(null)
  const counts = machine.machineType.counterKind !== 'none'
  async function submit(event: FormEvent<HTMLFormElement>): Promise<void> {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const month = (machine.today ?? '').slice(0, 7)
    try {
      const answer = counts
        ? await call('postEvidence', {
            body: {
              kind: 'counter_reading',
              id: crypto.randomUUID(),
              machineId: machine.id,
              at: new Date().toISOString(),
              value: Number(form.get('value')),
            },
          })
        : await call('postEvidence', {
            body: { kind: 'monthly_tap', id: crypto.randomUUID(), machineId: machine.id, month, runs: form.get('runs') as 'all_day' },
          })
      setSaid(answer.outcome === 'counted' ? 'Taken in; the dates follow in a moment.' : `${sayWord(answer.outcome)}: ${answer.reason}`)
      await queries.invalidateQueries({ queryKey: ['machine', machine.id] })
    } catch (problem) {
      setSaid(<Fault error={problem} />)
    }
  }
  return (
    <form className="row no-print" onSubmit={(event) => void submit(event)}>
      {counts ? (
        <div>
          <label htmlFor="reading">Counter shows now</label>
          <input id="reading" name="value" inputMode="numeric" required pattern="[0-9]+" />
        </div>
      ) : (
        <div>
          <label htmlFor="runs">This month it runs</label>
          <select id="runs" name="runs">
            <option value="all_day">all day</option>
            <option value="some_hours">some hours</option>
            <option value="seldom">seldom</option>
            <option value="dont_know">don’t know</option>
          </select>
        </div>
      )}
      <button>Write it down</button>
      <span role="status">{said}</span>
    </form>
  )
}

function Wear({ machine }: { machine: Detail }): ReactNode {
  const params = { machineId: machine.id }
  const parts = useQuery({ queryKey: ['machine', machine.id, 'components'], queryFn: () => call('machineComponents', { params }) })
  const dates = useQuery({ queryKey: ['machine', machine.id, 'forecasts'], queryFn: () => call('machineForecasts', { params }) })
  if (!parts.data) return parts.error ? <Fault error={parts.error} /> : null
  const brushes = parts.data.items.filter(
    ({ componentType, toDate, limits }) => componentType.key === 'motor_brush_set' && toDate === null && limits !== null,
  )
  const removed = parts.data.items.filter(({ toDate }) => toDate !== null)
  const due = dates.data?.items.find(({ taskKey }) => taskKey === 'replace_motor_brushes') ?? null
  return (
    <>
      {brushes.map((set) => (
        <section key={set.placementId} aria-label="Wear of the motor brushes">
          <h2>Wear of the motor brushes</h2>
          <p className="soft small">
            Fitted {set.newOn === null ? 'on a day not known' : sayDay(set.newOn, machine.today ?? '')};{' '}
            {set.usedStrips === null ? 'strips since new not known' : `${sayNumber(set.usedStrips)} strips since new`}. The shorter edge
            counts. {set.limits?.stated ? '' : 'Limits are common practice, to be confirmed for this type.'}
          </p>
          <WearChart
            points={set.measurements
              .filter(({ state }) => state === 'counted')
              .map(({ measuredOn, valueMm, name }) => ({ on: measuredOn, lengthMm: valueMm, name: sayWord(name) }))}
            planMm={set.limits?.planMm ?? 9.5}
            neverBelowMm={set.limits?.neverBelowMm ?? 6.4}
            newMm={set.limits?.newMm ?? 12.7}
            newOn={set.newOn}
            due={due}
          />
        </section>
      ))}
      {removed.length > 0 ? (
        <section aria-label="Parts removed">
          <h2>Parts removed</h2>
          <ul>
            {removed.map(({ placementId, componentType, fromDate, toDate, removalReason }) => (
              <li key={placementId}>
                {componentType.name}, removed {sayDay(toDate, machine.today ?? '')} ({sayWord(removalReason ?? 'unknown')}), fitted{' '}
                {fromDate === null ? 'on a day not known' : sayDay(fromDate, '')}
              </li>
            ))}
          </ul>
        </section>
      ) : null}
    </>
  )
}

function SetAside({ machineId }: { machineId: string }): ReactNode {
  const queries = useQueryClient()
  const list = useQuery({
    queryKey: ['machine', machineId, 'set-aside'],
    queryFn: () => call('listEvidence', { query: { machineId, state: 'set_aside', limit: 50 } }),
  })
  if (!list.data || list.data.items.length === 0) return null
  const dismiss = async (evidenceId: string): Promise<void> => {
    const reason = prompt('Why is it dismissed?')
    if (!reason) return
    await call('dismissEvidence', { params: { evidenceId }, body: { reason } })
    await queries.invalidateQueries()
  }
  return (
    <section aria-labelledby="aside">
      <h2 id="aside">Evidence set aside</h2>
      <ul>
        {list.data.items.map(({ id, kind, fromDate, amount, setAsideReason }) => (
          <li key={id}>
            {sayWord(kind)} {amount === null ? '' : sayNumber(amount)} of {fromDate}: {setAsideReason}{' '}
            <button className="small" onClick={() => void dismiss(id)}>
              Dismiss…
            </button>
          </li>
        ))}
      </ul>
    </section>
  )
}

function Done({ machine }: { machine: Detail }): ReactNode {
  const done = useQuery({
    queryKey: ['machine', machine.id, 'records'],
    queryFn: () => call('machineServiceRecords', { params: { machineId: machine.id } }),
  })
  return (
    <section aria-labelledby="done">
      <h2 id="done">What was done</h2>
      {done.data && done.data.items.length === 0 ? <p className="soft">Nothing is written down yet.</p> : null}
      <ul className="plain sentences">
        {done.data?.items.map(({ id, doneOn, taskName, personName, workOrder, settles }) => (
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
    </section>
  )
}

function Troubles({ machine }: { machine: Detail }): ReactNode {
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

function Past({ machine }: { machine: Detail }): ReactNode {
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
