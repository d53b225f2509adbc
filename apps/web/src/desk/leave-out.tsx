/** One falling-due left out (rule 13): what follows is worked out and said first, then the reason is asked for. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { sayDay } from '../ui/format.js'
import { Bones, Fault, Field } from '../ui/parts.js'
import { useMe, useToday } from './me.js'
import { OpenedForm } from './part-form.js'
import { useChange } from './use-change.js'

type Item = Answer<'comingUp'>['items'][number]

export function LeaveOut({ item, onDone }: { item: Item; onDone: () => void }): ReactNode {
  const me = useMe()
  const today = useToday(item.warehouseId)
  const [asking, setAsking] = useState(false)
  if (item.hardLimitOn !== null && item.hardLimitOn < today && me.person.role !== 'administrator')
    return <p className="soft">Past its hard limit, {sayDay(item.hardLimitOn, today)}, only an administrator may leave it out.</p>
  return (
    <div>
      <h3>Leave out</h3>
      {asking ? (
        <Asked item={item} onDone={onDone} onEnd={() => setAsking(false)} />
      ) : (
        <button onClick={() => setAsking(true)}>Leave it out this time…</button>
      )}
    </div>
  )
}

function Asked({ item, onDone, onEnd }: { item: Item; onDone: () => void; onEnd: () => void }): ReactNode {
  const queries = useQueryClient()
  const { error, change } = useChange()
  const params = { occurrenceId: item.occurrenceId ?? '' }
  const key = ['what-follows', item.occurrenceId]
  const follows = useQuery({ queryKey: key, queryFn: () => call('previewSkip', { params }), gcTime: 0 })
  const leave = (
    <button type="button" onClick={onEnd}>
      Leave it due
    </button>
  )
  if (follows.error)
    return (
      <>
        <Fault error={follows.error} />
        {leave}
      </>
    )
  if (!follows.data) return <Bones lines={3} />
  function submit(form: FormData): void {
    void change(async () => {
      await call('skipOccurrence', { params, body: { reason: String(form.get('reason')) } })
      queries.removeQueries({ queryKey: key })
      onDone()
    })
  }
  return (
    <OpenedForm label="Leave out" onSubmit={submit}>
      {error ? <Fault error={error} /> : null}
      <Follows follows={follows.data} item={item} />
      <Field label="Reason">{(id) => <input id={id} name="reason" required maxLength={1000} />}</Field>
      <div className="row">
        <button>Leave it out</button>
        {leave}
      </div>
    </OpenedForm>
  )
}

function Follows({ follows, item }: { follows: Answer<'previewSkip'>; item: Item }): ReactNode {
  const today = useToday(item.warehouseId)
  const { nextDueOn, reason, workOrders } = follows
  const limit = item.hardLimitOn ? `, and so does its hard limit, ${sayDay(item.hardLimitOn, today)}` : ''
  return (
    <div role="status">
      {nextDueOn === null ? (
        <p>It would have no next date{reason ? `: ${reason}` : ' yet.'}</p>
      ) : (
        <p>
          {nextDueOn > today
            ? `It will probably be due next on ${sayDay(nextDueOn, today)}.`
            : `Its next point, ${sayDay(nextDueOn, today)}, has come too: it would be due again at once.`}{' '}
          Use, wear and age go on counting from the last time it was done{limit}.
        </p>
      )}
      {workOrders.map(({ number, cancelled }) => (
        <p key={number}>
          {cancelled
            ? `Order ${number}, which is for nothing else, is cancelled.`
            : `It is taken off order ${number}; the rest of it stays.`}
        </p>
      ))}
    </div>
  )
}
