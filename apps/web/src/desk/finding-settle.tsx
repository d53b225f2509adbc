/** One finding: what was seen, by whom, and the two ways on from there. */
import { useQuery } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { Link } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayDay } from '../ui/format.js'
import { Bones, Fault, Field } from '../ui/parts.js'
import { useChange } from './use-change.js'

export type Finding = Answer<'machineFindings'>['items'][number]

export function FoundWords({ finding, today }: { finding: Finding; today: string }): ReactNode {
  const { foundOn, foundByName, text, safety, workOrder, taskName, dueOn, settledOn, settledByName, settledNote } = finding
  return (
    <>
      {safety ? <strong className={settledOn === null ? 'alarm' : undefined}>Could hurt somebody: </strong> : null}“{text}”{' '}
      <span className="soft">
        {foundByName ?? 'Somebody not named'}, {sayDay(foundOn, today)}
        {workOrder ? (
          <>
            , at order <Link to={`/work/${workOrder.id}`}>{workOrder.number}</Link>
          </>
        ) : null}
        .{' '}
        {settledOn !== null
          ? `Settled ${sayDay(settledOn, today)}${settledByName ? ` by ${settledByName}` : ''}${settledNote ? `: ${settledNote}` : '.'}`
          : taskName === null
            ? ''
            : `${taskName} is to see to it${dueOn === null ? '' : `, due ${sayDay(dueOn, today)}`}.`}
      </span>
    </>
  )
}

export function SettleFinding({
  finding,
  machineId,
  labelCode,
}: {
  finding: Pick<Finding, 'id' | 'text'>
  machineId: string
  labelCode: string
}): ReactNode {
  const [open, setOpen] = useState<'task' | 'done' | null>(null)
  const about = `“${finding.text.slice(0, 60)}” at ${labelCode}`
  return (
    <>
      <div className="row">
        <button
          aria-expanded={open === 'task'}
          aria-label={`Let a task take ${about}`}
          onClick={() => setOpen(open === 'task' ? null : 'task')}
        >
          Let a task take it…
        </button>
        <button
          aria-expanded={open === 'done'}
          aria-label={`Dealt with: ${about}`}
          onClick={() => setOpen(open === 'done' ? null : 'done')}
        >
          It is dealt with…
        </button>
      </div>
      {open === 'task' ? <ToTask findingId={finding.id} machineId={machineId} /> : null}
      {open === 'done' ? <Done findingId={finding.id} /> : null}
    </>
  )
}

function ToTask({ findingId, machineId }: { findingId: string; machineId: string }): ReactNode {
  const { error, change } = useChange()
  const tasks = useQuery({
    queryKey: ['machine', machineId, 'forecasts'],
    queryFn: () => call('machineForecasts', { params: { machineId } }),
  })
  function give(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const days = String(form.get('days'))
    const body = { serviceTaskId: String(form.get('task')), ...(days === '' ? {} : { withinDays: Number(days) }) }
    void change(() => call('giveFinding', { params: { findingId }, body }))
  }
  if (tasks.isPending) return <Bones lines={2} />
  if (tasks.error) return <Fault error={tasks.error} again={() => void tasks.refetch()} />
  if (tasks.data.items.length === 0)
    return <p className="soft">The plan of this machine has no task yet, or its dates are not worked out.</p>
  return (
    <form onSubmit={give} style={{ marginTop: 12 }}>
      {error ? <Fault error={error} /> : null}
      <Field label="Task" hint="It falls due by this finding, whatever else it waits for.">
        {(id) => (
          <select id={id} name="task">
            {tasks.data.items.map(({ serviceTaskId, taskName }) => (
              <option key={serviceTaskId} value={serviceTaskId}>
                {taskName}
              </option>
            ))}
          </select>
        )}
      </Field>
      <Field label="Within" unit="days" hint="Left empty: two weeks, at once where it could hurt somebody.">
        {(id) => <input id={id} name="days" type="number" min={0} max={400} step={1} />}
      </Field>
      <button className="main">Let it fall due</button>
    </form>
  )
}

function Done({ findingId }: { findingId: string }): ReactNode {
  const { error, change } = useChange()
  function settle(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const note = String(new FormData(event.currentTarget).get('note')).trim()
    void change(() => call('settleFinding', { params: { findingId }, body: { note } }))
  }
  return (
    <form onSubmit={settle} style={{ marginTop: 12 }}>
      {error ? <Fault error={error} /> : null}
      <Field label="What was done, or why nothing need be" hint="Kept with your name in the machine’s story.">
        {(id) => <input id={id} name="note" required maxLength={1000} />}
      </Field>
      <button className="main">Write it down</button>
    </form>
  )
}
