/** Writing a new version of a service plan. Nothing holds before it is saved, and saving is offered only beside its effect. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { type FormEvent, type ReactNode, type SyntheticEvent, useState } from 'react'
import { Link, useNavigate, useParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { ApiProblem } from '../client/problems.js'
import { sayWord } from '../ui/format.js'
import { Bones, Fault, Field, Heading, NoPage } from '../ui/parts.js'
import { useMe } from './me.js'
import { Cautions, Measurements, Steps } from './plan-edit-lists.js'
import { Amount, Triggers } from './plan-edit-triggers.js'
import { Effect } from './plan-effect.js'
import { type DraftTask, draftOf, keyFrom, type ServicePlan, saySkill, sayTrigger } from './plan-words.js'

export function PlanEdit(): ReactNode {
  const { servicePlanId = '' } = useParams()
  const plan = useQuery({
    queryKey: ['plan', servicePlanId],
    queryFn: () => call('getServicePlan', { params: { servicePlanId } }),
    // What is being written must not be swept away by a reading that comes later.
    staleTime: Infinity,
  })
  if (plan.isPending) return <Bones lines={12} />
  if (plan.error) return <NoPage title="New version of the plan" error={plan.error} again={() => void plan.refetch()} />
  return <Editor key={plan.data.id} plan={plan.data} />
}

function Editor({ plan }: { plan: ServicePlan }): ReactNode {
  const me = useMe()
  const navigate = useNavigate()
  const queries = useQueryClient()
  const [tasks, setTasks] = useState<DraftTask[]>(() => plan.tasks.map(draftOf))
  const [note, setNote] = useState('')
  const [preview, setPreview] = useState<Answer<'previewServicePlan'> | null>(null)
  const [error, setError] = useState<unknown>(null)
  const [busy, setBusy] = useState(false)
  const change = (next: DraftTask[]): void => {
    setTasks(next)
    setPreview(null)
  }
  /** The newest that is known here: one that was saved since is shown before this one takes its place. */
  const [holds, setHolds] = useState<Pick<ServicePlan, 'id' | 'planVersion'>>(plan)
  const params = { machineTypeId: plan.machineTypeId }
  const request = { params, body: { note, tasks, afterVersion: holds.planVersion } }
  const act = (doing: () => Promise<void>): void => {
    setBusy(true)
    setError(null)
    doing()
      .catch(setError)
      .finally(() => setBusy(false))
  }
  const show = (event: FormEvent): void => {
    event.preventDefault()
    act(async () => setPreview(await call('previewServicePlan', request)))
  }
  const save = (): void =>
    act(async () => {
      const saved = await call('createServicePlan', request).catch(async (problem: unknown) => {
        if (problem instanceof ApiProblem && problem.code === 'CHANGED_MEANWHILE')
          setHolds((await call('listServicePlans', { params })).items.find(({ current }) => current) ?? holds)
        throw problem
      })
      await queries.invalidateQueries()
      await navigate(`/set-up/plans/${saved.id}`)
    })
  return (
    <>
      <Heading title="New version of the plan">
        Service plan, version {holds.planVersion + 1} <span className="soft">of {plan.machineTypeName}, being written</span>
      </Heading>
      <p>
        The life used so far carries over: every task keeps its clock. Nothing holds before you save, and before that you see which dates
        move. <Link to={`/set-up/plans/${plan.id}`}>Leave it as it is</Link>
      </p>
      <form id="version" onSubmit={show} onInvalidCapture={openAround}>
        {tasks.map((task, index) => (
          <OneTask
            key={task.key}
            task={task}
            onChange={(more) => change(tasks.map((one, at) => (at === index ? { ...one, ...more } : one)))}
            onRemove={() => change(tasks.filter((_, at) => at !== index))}
          />
        ))}
        <AddTask taken={tasks.map(({ key }) => key)} onAdd={(task) => change([...tasks, task])} />
        <Field label="What was changed, and why" hint="Stands beside the version.">
          {(id) => <textarea id={id} value={note} maxLength={4000} rows={2} onChange={(event) => setNote(event.target.value)} />}
        </Field>
        {error ? <Fault error={error} /> : null}
        <button className="main" disabled={busy}>
          {busy ? 'Computing …' : 'Show which dates move'}
        </button>
      </form>
      {preview ? (
        <>
          <Effect preview={preview} today={me.serverTime.slice(0, 10)} />
          {holds.id === plan.id ? null : <Meanwhile holds={holds} />}
          <button type="button" form="version" className="main" disabled={busy} onClick={save}>
            Save as version {holds.planVersion + 1}
          </button>
        </>
      ) : null}
    </>
  )
}

function Meanwhile({ holds: { id, planVersion } }: { holds: Pick<ServicePlan, 'id' | 'planVersion'> }): ReactNode {
  return (
    <p className="note alarmed" role="alert">
      What you wrote is still here.{' '}
      <a href={`/set-up/plans/${id}`} target="_blank" rel="noreferrer">
        Look at version {planVersion}
      </a>{' '}
      beside it, and write here what of it shall stay: saved, yours takes its place as a whole.
    </p>
  )
}

/** A field that is missing inside a closed task could not be pointed at. */
function openAround({ target }: SyntheticEvent): void {
  const around = target instanceof HTMLElement ? target.closest('details') : null
  if (around) around.open = true
}

const BOXES = [
  ['atTheBench', 'done at the bench'],
  ['safetyCheck', 'a safety check: never late-tolerated, put off or skipped'],
  ['usesSolvent', 'uses a solvent'],
  ['overrunCounts', 'what was overrun is taken off the next interval'],
] as const

function OneTask({
  task,
  onChange,
  onRemove,
}: {
  task: DraftTask
  onChange: (more: Partial<DraftTask>) => void
  onRemove: () => void
}): ReactNode {
  const { units } = useMe().person
  return (
    <details className="task">
      <summary>
        <span className="strong">{task.name || 'A task without a name'}</span>{' '}
        <span className="soft">
          {task.triggers.map((trigger) => sayTrigger(trigger, units)).join('; ')}; {task.minutes} min
        </span>
      </summary>
      <Field label="Name, verb first">
        {(id) => <input id={id} value={task.name} required maxLength={200} onChange={(event) => onChange({ name: event.target.value })} />}
      </Field>
      <Triggers task={task} onChange={(triggers) => onChange({ triggers })} />
      <div className="row">
        <Amount label="Takes" unit="minutes" value={task.minutes} onChange={(minutes) => onChange({ minutes })} />
        <Field label="Who may do it">
          {(id) => (
            <select id={id} value={task.skill} onChange={(event) => onChange({ skill: event.target.value as DraftTask['skill'] })}>
              {(['instructed', 'technician', 'electrical'] as const).map((skill) => (
                <option key={skill} value={skill}>
                  {saySkill(skill)}
                </option>
              ))}
            </select>
          )}
        </Field>
        <Field label="How far the hands go">
          {(id) => (
            <select id={id} value={task.reach} onChange={(event) => onChange({ reach: event.target.value as DraftTask['reach'] })}>
              {(['outside', 'cover_off', 'inside'] as const).map((reach) => (
                <option key={reach} value={reach}>
                  {sayWord(reach)}
                </option>
              ))}
            </select>
          )}
        </Field>
      </div>
      {BOXES.map(([key, words]) => (
        <label key={key} className="box">
          <input type="checkbox" checked={task[key]} onChange={(event) => onChange({ [key]: event.target.checked })} /> {words}
        </label>
      ))}
      <Cautions task={task} onChange={onChange} />
      <Steps task={task} onChange={onChange} />
      <Measurements task={task} onChange={onChange} />
      <p>
        <button type="button" onClick={onRemove}>
          Take this task out of the plan
        </button>
      </p>
    </details>
  )
}

function AddTask({ taken, onAdd }: { taken: string[]; onAdd: (task: DraftTask) => void }): ReactNode {
  const [name, setName] = useState('')
  const add = (): void => {
    onAdd({
      key: keyFrom(name, taken),
      name: name.trim(),
      componentKey: null,
      minutes: 10,
      skill: 'technician',
      reach: 'outside',
      atTheBench: false,
      safetyCheck: false,
      usesSolvent: false,
      overrunCounts: false,
      triggers: [{ kind: 'calendar', months: 6, mode: 'nominal' }],
      steps: [],
      measurements: [],
      cautions: [],
      parts: [],
    })
    setName('')
  }
  return (
    <div className="row">
      <Field label="Another task">
        {(id) => <input id={id} value={name} maxLength={200} onChange={(event) => setName(event.target.value)} />}
      </Field>
      <button type="button" disabled={name.trim() === ''} onClick={add}>
        Add it
      </button>
    </div>
  )
}
