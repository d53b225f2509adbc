/** What should have moved and has not: mails, reminders, the queue against the table, clocks. */
import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { Link } from 'react-router'
import { type Answer, BY_ITSELF, call } from '../client/api.js'
import { sayCount, sayNumber } from '../ui/format.js'
import { Bones, Fault, Heading } from '../ui/parts.js'

type Health = Answer<'health'>

const STATES = [
  ['pending', 'waiting to be sent'],
  ['claimed', 'taken up by a worker'],
  ['handing_over', 'being handed over'],
  ['sent', 'sent'],
  ['uncertain', 'uncertain'],
  ['failed', 'refused'],
  ['expired', 'given up, told in a later digest where still open'],
] as const

const age = (seconds: number): string =>
  seconds < 90 ? sayCount(Math.round(seconds), 'second', 'seconds') : sayCount(Math.round(seconds / 60), 'minute', 'minutes')

export function HealthPage(): ReactNode {
  const health = useQuery({ queryKey: ['health'], queryFn: () => call('health', {}, BY_ITSELF), refetchInterval: 15_000 })
  return (
    <>
      <Heading title="What should have moved">What should have moved</Heading>
      {health.isPending ? <Bones lines={8} /> : null}
      {health.error ? <Fault error={health.error} again={() => void health.refetch()} /> : null}
      {health.data ? <Figures health={health.data} /> : null}
      <NotSafe />
    </>
  )
}

function Figures({ health }: { health: Health }): ReactNode {
  const behind = health.warehouses.filter(({ changesNotPlanned }) => changesNotPlanned > 0)
  return (
    <>
      {health.wrong.length === 0 ? (
        <p>Nothing stands still that should move.</p>
      ) : (
        <div className="note alarmed" role="alert">
          <ul className="plain sentences">
            {health.wrong.map((sentence) => (
              <li key={sentence}>{sentence}</li>
            ))}
          </ul>
          <p>
            <code>npm run rebuild-queue</code> puts every job again. It is safe at any time and sends no mail twice.
          </p>
        </div>
      )}
      <h2>Now</h2>
      <ul className="plain sentences">
        <li>
          {health.oldestPendingMessageSeconds === null
            ? 'No mail is due.'
            : `The oldest mail that is due has waited ${age(health.oldestPendingMessageSeconds)}.`}{' '}
          {sayCount(health.dueMessages, 'mail is', 'mails are')} due by the table;{' '}
          {health.sendingJobs === null
            ? 'the queue has not said what it holds.'
            : `the queue holds ${sayCount(health.sendingJobs, 'job', 'jobs')} for sending.`}
        </li>
        <li>
          {health.unsaidReminders === null
            ? 'No worker has counted reminders in the last two minutes.'
            : `${sayCount(health.unsaidReminders, 'reminder could', 'reminders could')} be in a mail by now${
                health.unsaidReminders > 0 && health.oldestUnsaidSeconds !== null
                  ? `, the oldest since ${age(health.oldestUnsaidSeconds)}`
                  : ''
              }.`}
        </li>
        <li>
          {behind.length === 0
            ? 'All dates rest on all evidence.'
            : `New evidence is being worked in for ${behind.map(({ name }) => name).join(', ')}.`}{' '}
          {sayCount(health.forecastsNotComputed, 'date', 'dates')} could not be computed.
        </li>
      </ul>
      <Mails states={health.messagesByState} />
      <Processes processes={health.processes} />
    </>
  )
}

/** What is known to be unsafe about how it is all set up; an empty list proves nothing. */
function NotSafe(): ReactNode {
  const found = useQuery({ queryKey: ['installation'], queryFn: () => call('getInstallation') })
  return (
    <section aria-labelledby="not-safe">
      <h2 id="not-safe">What is not safe here</h2>
      {found.isPending ? <Bones lines={2} /> : null}
      {found.error ? <Fault error={found.error} again={() => void found.refetch()} /> : null}
      {found.data?.notSafe.length === 0 ? <p>Nothing that this installation can see of itself.</p> : null}
      <ul className="plain sentences">
        {found.data?.notSafe.map(({ what, toDo }) => (
          <li key={what}>
            {what} <span className="soft">{toDo}</span>
          </li>
        ))}
      </ul>
    </section>
  )
}

function Mails({ states }: { states: Health['messagesByState'] }): ReactNode {
  return (
    <section aria-labelledby="mails">
      <h2 id="mails">Mails by state</h2>
      <ul className="plain sentences">
        {STATES.map(([state, words]) => (
          <li key={state}>
            <Link to={`/messages?state=${state}`}>
              {sayNumber(states[state] ?? 0)} {words}
            </Link>
          </li>
        ))}
      </ul>
      <p className="soft">
        Of an uncertain mail nobody can know whether it arrived. It is never sent again; what is still open of it stands in the next working
        day’s digest as ‘you may have had this already’. Where the mail server’s log shows what became of it, tell the person.
      </p>
    </section>
  )
}

function Processes({ processes }: { processes: Health['processes'] }): ReactNode {
  return (
    <section aria-labelledby="workers">
      <h2 id="workers">Processes</h2>
      {processes.length === 0 ? <p>None has been heard of yet.</p> : null}
      <ul className="plain sentences">
        {processes.map(({ process, secondsAgo, clockDifferenceMs, queueAnswers }) => (
          <li key={process}>
            {process}: heard of {age(Math.max(0, secondsAgo))} ago; its clock differs from the database’s by{' '}
            {sayNumber(Math.abs(clockDifferenceMs))} ms
            {queueAnswers === null ? '' : `; the queue ${queueAnswers ? 'answers' : 'does not answer'}`}.
          </li>
        ))}
      </ul>
    </section>
  )
}
