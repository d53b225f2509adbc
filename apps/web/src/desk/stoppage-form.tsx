/** A stoppage put right: its moments, its waits, what was wrong and why. Sent is only what was changed here. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { failureModeSchema, noticedHowSchema, stoppageCauseSchema } from '@tapewarden/shared'
import { type ReactNode, useRef, useState } from 'react'
import { call } from '../client/api.js'
import { ApiProblem } from '../client/problems.js'
import { sayNumber } from '../ui/format.js'
import { Bones, Fault, Field } from '../ui/parts.js'
import { WallField } from '../ui/wall-field.js'
import { OneOf } from './one-of.js'
import { OpenedForm } from './part-form.js'
import { changesOf, FIELD_NAMES, sayChanges, type WaitLine } from './stoppage-changes.js'
import { faultAt, inFormWords } from './stoppage-faults.js'
import { Waits } from './stoppage-waits.js'
import { MOMENTS, type One, sayChoice, withoutIt } from './stoppage-words.js'

interface Props {
  stoppage: One
  today: string
  /** With the hours before the change; null where nothing was changed. */
  onEnd: (before: string | null) => void
}

export function PutRight({ stoppage, today, onEnd }: Props): ReactNode {
  const queries = useQueryClient()
  /** As it was when the form was opened: what is otherwise was typed here. */
  const [base] = useState(stoppage)
  const [version, setVersion] = useState(base.version)
  const [meanwhile, setMeanwhile] = useState<string[]>([])
  const [lines, setLines] = useState<WaitLine[]>(() => base.waits.map((known, key) => ({ key, known })))
  const [error, setError] = useState<unknown>(null)
  const [busy, setBusy] = useState(false)
  /** The lines of waits as they were sent: the server counts them from nought. */
  const sent = useRef<readonly WaitLine[]>([])
  const { zone } = base.warehouse

  async function send(form: FormData): Promise<void> {
    const changes = changesOf(form, lines, base)
    if (Object.keys(changes).length === 0) return onEnd(null)
    await call('patchStoppage', { params: { stoppageId: base.id }, body: { ...changes, version } })
    await queries.invalidateQueries()
    onEnd(sayNumber(base.durations.totalHours, 1))
  }
  /** Somebody was faster: what they changed is said, and a second press writes what was typed here beside it. */
  async function readAgain(problem: unknown): Promise<void> {
    if (!(problem instanceof ApiProblem) || problem.code !== 'CHANGED_MEANWHILE') return
    const now = await call('getStoppage', { params: { stoppageId: base.id } })
    setVersion(now.version)
    setMeanwhile(sayChanges(base, now, zone, today))
  }
  function submit(form: FormData): void {
    sent.current = lines
    setBusy(true)
    setError(null)
    send(form)
      .catch(async (problem: unknown) => {
        setError(problem)
        await readAgain(problem)
      })
      .catch(setError)
      .finally(() => setBusy(false))
  }
  const waitFault = (line: WaitLine, part: string): string | undefined => faultAt(error, `/waits/${sent.current.indexOf(line)}/${part}`)
  return (
    <OpenedForm label="Put the stoppage right" onSubmit={submit}>
      <h2>Put it right</h2>
      {error ? <Fault error={inFormWords(error, FIELD_NAMES)} /> : null}
      {meanwhile.length > 0 ? <Meanwhile changes={meanwhile} /> : null}
      <fieldset className="plain">
        <legend style={{ marginBottom: 8 }}>Its moments, by the clocks of {base.warehouse.name}. What is not known stays empty.</legend>
        {MOMENTS.map(([key, label]) => (
          <WallField
            key={key}
            name={key}
            label={label}
            zone={zone}
            instant={base[key]}
            required={key === 'failedAt'}
            hint={key === 'failedAt' ? undefined : `Left empty: ${withoutIt(key, base)}.`}
            fault={faultAt(error, `/${key}`)}
          />
        ))}
      </fieldset>
      <Waits lines={lines} onLines={setLines} zone={zone} faultOf={waitFault} />
      <FactFields base={base} error={error} />
      <button className="main" disabled={busy}>
        {meanwhile.length > 0 ? 'Write mine down beside it' : 'Write it down'}
      </button>{' '}
      <button type="button" onClick={() => onEnd(null)}>
        Leave it as it was
      </button>
    </OpenedForm>
  )
}

function Meanwhile({ changes }: { changes: readonly string[] }): ReactNode {
  return (
    <div className="note">
      <p>Meanwhile was changed:</p>
      <ul>
        {changes.map((change) => (
          <li key={change}>{change}</li>
        ))}
      </ul>
      <p>A second press writes down what you changed here, also where both of you did; the rest stays as it is now.</p>
    </div>
  )
}

function FactFields({ base, error }: { base: One; error: unknown }): ReactNode {
  const components = useQuery({ queryKey: ['component-types'], queryFn: () => call('listComponentTypes', {}) })
  return (
    <>
      <OneOf label="What was wrong" name="failureMode" value={base.failureMode} options={failureModeSchema.options} />
      <OneOf label="Cause" name="cause" value={base.cause} options={stoppageCauseSchema.options} />
      {components.error ? <Fault error={components.error} again={() => void components.refetch()} /> : null}
      {components.isPending ? <Bones lines={1} /> : null}
      <Field label="Part of the machine" fault={faultAt(error, '/componentKey')}>
        {(id) => (
          <select key={String(components.isSuccess)} id={id} name="componentKey" defaultValue={base.componentKey ?? ''}>
            <option value="">not known, or none</option>
            {base.componentKey && !components.data ? <option value={base.componentKey}>{sayChoice(base.componentKey)}</option> : null}
            {components.data?.items.map(({ key, name }) => (
              <option key={key} value={key}>
                {name}
              </option>
            ))}
          </select>
        )}
      </Field>
      <OneOf label="Noticed by" name="noticedHow" value={base.noticedHow} options={noticedHowSchema.options} />
      <Field label="Who told it" fault={faultAt(error, '/reportedBy')}>
        {(id) => <input id={id} name="reportedBy" maxLength={200} autoComplete="off" defaultValue={base.reportedBy} />}
      </Field>
      <label className="box">
        <input type="checkbox" name="planned" defaultChecked={base.planned} /> Planned: it was stopped on purpose, for work on it
      </label>
      <Field label="Note" fault={faultAt(error, '/note')}>
        {(id) => <textarea id={id} name="note" maxLength={4000} defaultValue={base.note} />}
      </Field>
    </>
  )
}
