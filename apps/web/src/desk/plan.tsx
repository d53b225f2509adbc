/** One version of a service plan: every task with its triggers, windows, minutes, skill, reach, steps and measurements. */
import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { Link, useParams } from 'react-router'
import { call } from '../client/api.js'
import { sayCount, sayDay, sayMeasured, sayWord } from '../ui/format.js'
import { Bones, Fault, Heading, NoPage } from '../ui/parts.js'
import { mayDecide, useMe } from './me.js'
import { type ServicePlan, saySkill, sayTrigger, sayWindow, type Task, type Units } from './plan-words.js'

export function Plan(): ReactNode {
  const me = useMe()
  const { servicePlanId = '' } = useParams()
  const plan = useQuery({ queryKey: ['plan', servicePlanId], queryFn: () => call('getServicePlan', { params: { servicePlanId } }) })
  if (plan.isPending) return <Bones lines={12} />
  if (plan.error) return <NoPage title="Service plan" error={plan.error} again={() => void plan.refetch()} />
  return (
    <>
      <Heading title="Service plan">
        Service plan, version {plan.data.planVersion}{' '}
        <span className="soft">
          of {plan.data.machineTypeName}, from {sayDay(plan.data.validFrom, '')}
        </span>
      </Heading>
      <p>
        {sayCount(plan.data.tasks.length, 'task', 'tasks')}. {plan.data.note ? `“${plan.data.note}” ` : ''}
        {plan.data.createdByName ? `Written by ${plan.data.createdByName}. ` : ''}
        {plan.data.current ? 'This version holds.' : 'A later version holds now.'}
      </p>
      {mayDecide(me) && plan.data.current ? (
        <p className="no-print">
          <Link className="button" to={`/set-up/plans/${servicePlanId}/edit`}>
            Write a new version…
          </Link>
        </p>
      ) : null}
      <Versions plan={plan.data} />
      {plan.data.tasks.map((task) => (
        <OneTask key={task.planTaskId} task={task} />
      ))}
    </>
  )
}

function Versions({ plan }: { plan: ServicePlan }): ReactNode {
  const versions = useQuery({
    queryKey: ['plan-versions', plan.machineTypeId],
    queryFn: () => call('listServicePlans', { params: { machineTypeId: plan.machineTypeId } }),
  })
  if (versions.error) return <Fault error={versions.error} />
  if (!versions.data || versions.data.items.length < 2) return null
  return (
    <details className="no-print">
      <summary>{versions.data.items.length} versions</summary>
      <ul className="plain sentences">
        {versions.data.items.map(({ id, planVersion, validFrom, note, createdByName }) => (
          <li key={id}>
            {id === plan.id ? `Version ${planVersion}, shown here` : <Link to={`/set-up/plans/${id}`}>Version {planVersion}</Link>}, from{' '}
            {sayDay(validFrom, '')}
            {createdByName ? `, by ${createdByName}` : ''}
            {note ? `: ${note}` : ''}
          </li>
        ))}
      </ul>
    </details>
  )
}

function OneTask({ task }: { task: Task }): ReactNode {
  const { units } = useMe().person
  const windows = task.triggers.flatMap((trigger) => sayWindow(trigger, task.safetyCheck) ?? [])
  return (
    <section aria-label={task.name}>
      <h2>{task.name}</h2>
      <p>
        {task.triggers.map((trigger) => sayTrigger(trigger, units)).join('; ')}. {task.minutes} minutes, {saySkill(task.skill)},{' '}
        {sayWord(task.reach)}
        {task.atTheBench ? ', at the bench' : ''}
        {task.safetyCheck ? '; a safety check' : ''}.{task.overrunCounts ? ' What was overrun is taken off the next interval.' : ''}
      </p>
      {windows.length > 0 ? <p className="small soft">{windows.join(' ')}</p> : null}
      <details>
        <summary>
          {sayCount(task.steps.length, 'step', 'steps')}
          {task.measurements.length > 0 ? `, ${sayCount(task.measurements.length, 'measured value', 'measured values')}` : ''}
          {task.cautions.length > 0 ? `, ${sayCount(task.cautions.length, 'caution of its own', 'cautions of its own')}` : ''}
        </summary>
        {task.cautions.map((text) => (
          <p key={text} className="strong">
            {text}
          </p>
        ))}
        <ol>
          {task.steps.map(({ key, text, caution }) => (
            <li key={key}>
              {caution ? <strong>{caution} </strong> : null}
              {text}
            </li>
          ))}
        </ol>
        {task.measurements.map((one) => (
          <p key={one.key}>
            {one.name}, {one.unit === 'count' ? 'a count' : units === 'us' ? 'in' : 'mm'}
            {one.required ? '' : ', if it can be measured'}: {sayLimit('replace at', one.planLimit, one.unit, units)}
            {sayLimit('never below', one.neverBelow, one.unit, units)}
            {one.plausibleFrom !== undefined || one.plausibleTo !== undefined
              ? `plausible ${sayEnd(one.plausibleFrom, one.unit, units)} to ${sayEnd(one.plausibleTo, one.unit, units)}`
              : ''}
          </p>
        ))}
      </details>
    </section>
  )
}

function sayLimit(words: string, limit: number | 'type' | undefined, unit: 'mm' | 'count', units: Units): string {
  if (limit === undefined) return ''
  return `${words} ${limit === 'type' ? 'the limit of the type' : sayMeasured(limit, unit, units)}; `
}

const sayEnd = (value: number | undefined, unit: 'mm' | 'count', units: Units): string =>
  value === undefined ? '…' : sayMeasured(value, unit, units)
