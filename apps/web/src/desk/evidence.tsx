/** Evidence that cannot be true: set aside with its reason, corrected or dismissed here. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { Link, useSearchParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayNumber, sayWord } from '../ui/format.js'
import { Bones, Fault, Field, Heading } from '../ui/parts.js'

type Item = Answer<'listEvidence'>['items'][number]

export function Evidence(): ReactNode {
  const [search] = useSearchParams()
  const warehouseId = search.get('warehouseId')
  const query = { state: 'set_aside', limit: 100, ...(warehouseId ? { warehouseId } : {}) }
  const list = useQuery({ queryKey: ['evidence', query], queryFn: () => call('listEvidence', { query }) })
  return (
    <>
      <Heading title="Evidence set aside">Evidence set aside</Heading>
      <p>
        Each of these cannot be true as it stands. Nothing else was stopped by it. Correct it, or dismiss it; the dates follow by
        themselves.
      </p>
      {list.isPending ? <Bones /> : null}
      {list.error ? <Fault error={list.error} again={() => void list.refetch()} /> : null}
      {list.data?.items.length === 0 ? <p className="soft">Nothing is set aside.</p> : null}
      {list.data?.items.map((item) => (
        <One key={item.id} item={item} />
      ))}
    </>
  )
}

function One({ item }: { item: Item }): ReactNode {
  const queries = useQueryClient()
  const [error, setError] = useState<unknown>(null)
  async function act(doing: () => Promise<unknown>): Promise<void> {
    try {
      await doing()
      await queries.invalidateQueries()
    } catch (problem) {
      setError(problem)
    }
  }
  const params = { evidenceId: item.id }
  function correct(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const amount = Number(form.get('amount'))
    const machineId = item.machine?.id
    const replacement =
      item.kind === 'counter_reading'
        ? { kind: 'counter_reading' as const, machineId, at: item.at ?? '', value: amount }
        : item.kind === 'strips_day'
          ? { kind: 'strips_day' as const, machineId, day: item.fromDate, strips: amount }
          : { kind: 'cartons_day' as const, stationId: item.station?.id ?? '', day: item.fromDate, cartons: amount }
    void act(() => call('correctEvidence', { params, body: { replacement, reason: String(form.get('reason')) } }))
  }
  function dismiss(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    void act(() => call('dismissEvidence', { params, body: { reason: String(new FormData(event.currentTarget).get('reason')) } }))
  }
  const correctable = ['counter_reading', 'strips_day', 'cartons_day'].includes(item.kind)
  return (
    <section className="part" style={{ borderTop: '1px solid var(--rule)', padding: '16px 0' }}>
      <h2>
        {item.machine ? (
          <Link to={`/machines/${item.machine.id}`}>{item.machine.labelCode}</Link>
        ) : (
          (item.station?.name ?? 'No machine named')
        )}
        : {sayWord(item.kind)} {item.amount === null ? '' : sayNumber(item.amount)} of {item.fromDate}
      </h2>
      <p>
        {item.setAsideReason} <span className="soft">From {item.source}.</span>
      </p>
      {error ? <Fault error={error} /> : null}
      <details>
        <summary>Correct or dismiss…</summary>
        {correctable ? (
          <form onSubmit={correct} style={{ marginTop: 12 }}>
            <Field label="Right amount">
              {(id) => <input id={id} name="amount" inputMode="decimal" required defaultValue={item.amount ?? ''} />}
            </Field>
            <Field label="What was wrong">{(id) => <input id={id} name="reason" required maxLength={1000} />}</Field>
            <button className="main">Correct</button>
          </form>
        ) : null}
        <form onSubmit={dismiss} style={{ marginTop: 12 }}>
          <Field label="Why it is dismissed">{(id) => <input id={id} name="reason" required maxLength={1000} />}</Field>
          <button>Dismiss</button>
        </form>
      </details>
    </section>
  )
}
