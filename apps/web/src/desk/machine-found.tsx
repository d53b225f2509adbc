/** What people found at a machine: what is still open, what became of the rest; and a place to write down what one was told. */
import { type FormEvent, type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { More, useLongList } from '../ui/long-list.js'
import { Bones, Fault, Field } from '../ui/parts.js'
import { FoundWords, SettleFinding } from './finding-settle.js'
import { mayDecide, useMe } from './me.js'
import { useChange } from './use-change.js'

type Detail = Answer<'getMachine'>

export function Found({ machine }: { machine: Detail }): ReactNode {
  const me = useMe()
  const list = useLongList(['machine', machine.id, 'findings'], (from) =>
    call('machineFindings', { params: { machineId: machine.id }, query: { limit: 15, ...from } }),
  )
  return (
    <section aria-labelledby="found">
      <h2 id="found">What was found</h2>
      {list.isPending ? <Bones lines={2} /> : null}
      {list.error ? <Fault error={list.error} again={() => void list.refetch()} /> : null}
      {list.data && list.items.length === 0 ? <p className="soft">Nothing was found beside the work asked for.</p> : null}
      <ul className="plain sentences">
        {list.items.map((finding) => (
          <li key={finding.id}>
            <FoundWords finding={finding} today={machine.today ?? ''} />
            {finding.settledOn === null && finding.serviceTaskId === null && mayDecide(me) ? (
              <SettleFinding finding={finding} machineId={machine.id} labelCode={machine.labelCode} />
            ) : null}
          </li>
        ))}
      </ul>
      <More list={list} words="Older ones" />
      <Report machineId={machine.id} />
    </section>
  )
}

function Report({ machineId }: { machineId: string }): ReactNode {
  const { error, change } = useChange()
  const [open, setOpen] = useState(false)
  function report(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const body = { text: String(form.get('text')).trim(), safety: form.get('safety') === 'on' }
    void change(() => call('reportFinding', { params: { machineId }, body }).then(() => setOpen(false)))
  }
  return (
    <details className="no-print" open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>Write down something that was seen …</summary>
      <form onSubmit={report} style={{ marginTop: 12 }}>
        {error ? <Fault error={error} /> : null}
        <Field label="What was seen">{(id) => <input id={id} name="text" required maxLength={1000} />}</Field>
        <label className="tick">
          <input type="checkbox" name="safety" /> It could hurt somebody: its safety check falls due at once
        </label>
        <p className="soft small">If nobody must use it until then, tag it out; the tag counts more than this screen.</p>
        <button>Write it down</button>
      </form>
    </details>
  )
}
