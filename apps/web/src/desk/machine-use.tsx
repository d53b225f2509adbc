/** How much work a machine did: the picture, by what it is known, and one field to say more. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { serverNow } from '../client/clock.js'
import { UseChart } from '../ui/charts.js'
import { sayWord } from '../ui/format.js'
import { Bones, Fault } from '../ui/parts.js'

type Detail = Answer<'getMachine'>

export function Use({ machine }: { machine: Detail }): ReactNode {
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
      <GiveReading key={machine.today?.slice(0, 7)} machine={machine} />
    </section>
  )
}

const written = (): { id: string; at: string } => ({ id: crypto.randomUUID(), at: serverNow() })

function GiveReading({ machine }: { machine: Detail }): ReactNode {
  const queries = useQueryClient()
  const [said, setSaid] = useState<ReactNode>(null)
  /** Of what stands in the field: sent again it is the same, until something else is entered. */
  const [entry, setEntry] = useState(written)
  const counts = machine.machineType.counterKind !== 'none'
  async function submit(event: FormEvent<HTMLFormElement>): Promise<void> {
    event.preventDefault()
    const element = event.currentTarget
    const form = new FormData(element)
    const month = (machine.today ?? '').slice(0, 7)
    try {
      const answer = counts
        ? await call('postEvidence', {
            body: { kind: 'counter_reading', ...entry, machineId: machine.id, value: Number(form.get('value')) },
          })
        : await call('postEvidence', {
            body: { kind: 'monthly_tap', id: entry.id, machineId: machine.id, month, runs: form.get('runs') as 'all_day' },
          })
      if (counts) element.reset()
      setSaid(answer.outcome === 'counted' ? 'Taken in; the dates follow in a moment.' : `${sayWord(answer.outcome)}: ${answer.reason}`)
      await queries.invalidateQueries({ queryKey: ['machine', machine.id] })
    } catch (problem) {
      setSaid(<Fault error={problem} />)
    }
  }
  return (
    <form className="row no-print" onChange={() => setEntry(written())} onSubmit={(event) => void submit(event)}>
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
