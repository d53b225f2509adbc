/** One version of a service plan: every task with its triggers, minutes, skill, reach and steps. */
import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { useParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayNumber, sayWord } from '../ui/format.js'
import { Bones, Fault, Heading } from '../ui/parts.js'

type Trigger = Answer<'getServicePlan'>['tasks'][number]['triggers'][number]

function sayTrigger(trigger: Trigger): string {
  switch (trigger.kind) {
    case 'calendar':
      return trigger.months ? `every ${trigger.months} months` : `every ${trigger.days} days`
    case 'calendar_month':
      return 'once in each calendar month'
    case 'usage':
      return `every ${sayNumber(trigger.amount)} ${sayWord(trigger.unit)}`
    case 'wear':
      return 'by wear'
    case 'life':
      return `when ${Math.round(trigger.failedFraction * 100)} % may have failed since the last look`
    case 'least_cost_age':
      return 'at the least-cost age, where the data support one'
    case 'finding':
      return 'when an inspection finds it'
    case 'function_check':
      return 'when strip lengths drift'
    case 'situation':
      return `when: ${sayWord(trigger.situation)}`
  }
}

export function Plan(): ReactNode {
  const { servicePlanId = '' } = useParams()
  const plan = useQuery({ queryKey: ['plan', servicePlanId], queryFn: () => call('getServicePlan', { params: { servicePlanId } }) })
  if (plan.isPending) return <Bones lines={12} />
  if (plan.error) return <Fault error={plan.error} />
  return (
    <>
      <Heading title="Service plan">
        Service plan, version {plan.data.planVersion} <span className="soft">from {plan.data.validFrom}</span>
      </Heading>
      {plan.data.tasks.map((task) => (
        <section key={task.planTaskId} aria-label={task.name}>
          <h2>{task.name}</h2>
          <p>
            {task.triggers.map(sayTrigger).join('; ')}. {task.minutes} minutes,{' '}
            {task.skill === 'instructed'
              ? 'an instructed person'
              : task.skill === 'electrical'
                ? 'a qualified electrical person'
                : 'a technician'}
            , {sayWord(task.reach)}
            {task.atTheBench ? ', at the bench' : ''}
            {task.safetyCheck ? '; a safety check' : ''}.
          </p>
          <details>
            <summary>{task.steps.length} steps</summary>
            <ol>
              {task.steps.map(({ key, text, caution }) => (
                <li key={key}>
                  {caution ? <strong>{caution} </strong> : null}
                  {text}
                </li>
              ))}
            </ol>
          </details>
        </section>
      ))}
    </>
  )
}
