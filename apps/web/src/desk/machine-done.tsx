/** What was done at a machine, newest first; care told to the desk is written down here, and a record that is wrong taken back. */
import { useQuery } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { Link } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayDay } from '../ui/format.js'
import { More, useLongList } from '../ui/long-list.js'
import { Bones, Fault, Field } from '../ui/parts.js'
import { WithReason } from '../ui/reason.js'
import { mayDecide, useMe } from './me.js'
import { useChange } from './use-change.js'

type Detail = Answer<'getMachine'>
type Record = Answer<'machineServiceRecords'>['items'][number]
/** Few at first; who asks for older ones looks for something. */
const AT_FIRST = 15
const THEN = 100

export function Done({ machine }: { machine: Detail }): ReactNode {
  const me = useMe()
  const [wrong, setWrong] = useState(false)
  const done = useLongList(['machine', machine.id, 'records'], (from) =>
    call('machineServiceRecords', {
      params: { machineId: machine.id },
      query: { limit: from.cursor === undefined ? AT_FIRST : THEN, ...from },
    }),
  )
  return (
    <section aria-labelledby="done">
      <h2 id="done">What was done</h2>
      {mayDecide(me) ? <Tell machine={machine} /> : null}
      {done.isPending ? <Bones lines={3} /> : null}
      {done.error ? <Fault error={done.error} again={() => void done.refetch()} /> : null}
      {done.data && done.items.length === 0 ? <p className="soft">Nothing is written down yet.</p> : null}
      {done.hasNextPage ? <p className="soft small">The newest {done.items.length}.</p> : null}
      <ul className="plain sentences">
        {done.items.map((record) => (
          <One key={record.id} record={record} today={machine.today ?? ''} decides={wrong} />
        ))}
      </ul>
      <More list={done} words="Older ones" />
      {mayDecide(me) && done.items.length > 0 ? (
        <button className="small no-print" aria-expanded={wrong} onClick={() => setWrong(!wrong)}>
          {wrong ? 'Leave them as they are' : 'One of these is wrong…'}
        </button>
      ) : null}
    </section>
  )
}

function One({ record, today, decides }: { record: Record; today: string; decides: boolean }): ReactNode {
  const { id, doneOn, taskName, personName, workOrder, settles, note } = record
  const { error, change } = useChange()
  const [open, setOpen] = useState(false)
  return (
    <li>
      {sayDay(doneOn, today)}: {taskName}, {personName || 'by someone not named'}
      {workOrder ? (
        <>
          {' '}
          (order <Link to={`/work/${workOrder.id}`}>{workOrder.number}</Link>)
        </>
      ) : null}
      {settles ? '' : ' – kept as evidence, moves no date'}
      {note === '' ? '' : <span className="soft"> “{note}”</span>}{' '}
      {decides && settles && !workOrder && !open ? (
        <button className="small no-print" aria-label={`${taskName} on ${doneOn}: take it back`} onClick={() => setOpen(true)}>
          Take back…
        </button>
      ) : null}
      {error ? <Fault error={error} /> : null}
      {open ? (
        <div className="no-print">
          <p className="soft small">It stays in the list and counts no more; what it had settled is open again.</p>
          <WithReason
            open="Why is it wrong?"
            question="Why does it not count?"
            confirm="Take it back"
            onGive={(reason) => void change(() => call('takeBackCare', { params: { serviceRecordId: id }, body: { reason } }))}
          />
        </div>
      ) : null}
    </li>
  )
}

function Tell({ machine }: { machine: Detail }): ReactNode {
  const [open, setOpen] = useState(false)
  return (
    <details className="no-print" open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>Care was done without an order …</summary>
      {open ? <TellForm machine={machine} onDone={() => setOpen(false)} /> : null}
    </details>
  )
}

function TellForm({ machine, onDone }: { machine: Detail; onDone: () => void }): ReactNode {
  const me = useMe()
  const { error, change } = useChange()
  const machineId = machine.id
  const tasks = useQuery({
    queryKey: ['machine', machineId, 'forecasts'],
    queryFn: () => call('machineForecasts', { params: { machineId } }),
  })
  function tell(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const text = (name: string): string => String(form.get(name)).trim()
    const body = { serviceTaskId: text('task'), doneOn: text('doneOn'), doneBy: text('doneBy'), note: text('note') }
    void change(() => call('tellCare', { params: { machineId }, body }).then(onDone))
  }
  if (tasks.isPending) return <Bones lines={3} />
  if (tasks.error) return <Fault error={tasks.error} again={() => void tasks.refetch()} />
  return (
    <form onSubmit={tell} style={{ marginTop: 12 }}>
      {error ? <Fault error={error} /> : null}
      <Field label="What was done" hint="What is measured needs an order; a part that was replaced is written down at the part.">
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
      <Field label="Done on">
        {(id) => <input id={id} name="doneOn" type="date" required max={machine.today ?? undefined} defaultValue={machine.today ?? ''} />}
      </Field>
      <Field label="By whom" hint="A person, or the service firm. Work on live parts only by who is qualified for it.">
        {(id) => <input id={id} name="doneBy" required maxLength={200} defaultValue={machine.serviceFirm || me.person.name} />}
      </Field>
      <Field label="Note" hint="The number of the firm’s report, for instance.">
        {(id) => <input id={id} name="note" maxLength={1000} />}
      </Field>
      <button className="main">Write it down</button>
    </form>
  )
}
