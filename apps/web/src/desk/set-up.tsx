/** How it is arranged: warehouses with their weeks, closures and peaks, types and plans, people; and what should have moved. */
import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { Link } from 'react-router'
import { call } from '../client/api.js'
import { sayBars, sayCount, sayDay, sayWeek, sayWord } from '../ui/format.js'
import { Bones, Fault, Heading } from '../ui/parts.js'
import { mayDecide, useMe } from './me.js'
import { useChange } from './use-change.js'
import { usePeople } from './whole-lists.js'

export function SetUp(): ReactNode {
  const me = useMe()
  return (
    <>
      <Heading title="Set-up">Set-up</Heading>
      {mayDecide(me) ? (
        <div className="row">
          <Link className="button" to="/begin">
            Begin with a warehouse
          </Link>
          <Link className="button" to="/set-up/register?what=machine">
            Register machines
          </Link>
          <Link className="button" to="/imports">
            Lists in and out
          </Link>
          <Link className="button" to="/labels">
            Print labels
          </Link>
        </div>
      ) : null}
      <h2>Warehouses</h2>
      {me.warehouses.length === 0 ? <p className="soft">None yet. Each stands here with its week, its closures and who is told.</p> : null}
      {me.warehouses.map(({ id }) => (
        <Hall key={id} warehouseId={id} />
      ))}
      <Types />
      {mayDecide(me) ? <People /> : null}
      {mayDecide(me) ? <Moving /> : null}
    </>
  )
}

function Hall({ warehouseId }: { warehouseId: string }): ReactNode {
  const hall = useQuery({ queryKey: ['warehouse', warehouseId], queryFn: () => call('getWarehouse', { params: { warehouseId } }) })
  if (hall.error) return <Fault error={hall.error} />
  if (!hall.data) return <Bones lines={3} />
  const { name, zone, shifts, closures, peaks, machineCount, firstPersonName, secondPersonName, today, upToDate } = hall.data
  const days = (from: string, to: string): string => (from === to ? sayDay(from, today) : `${sayDay(from, today)} to ${sayDay(to, today)}`)
  return (
    <section aria-label={name}>
      <h3>
        <Link to={`/set-up/warehouses/${warehouseId}`}>{name}</Link>
      </h3>
      <p>
        {zone}, {sayCount(machineCount, 'machine', 'machines')}. Reminders go to {firstPersonName ?? 'nobody'}, then{' '}
        {secondPersonName ?? 'nobody'}. {upToDate ? 'All dates rest on all evidence.' : 'New evidence is being worked in.'}
      </p>
      <p className="small soft">
        Week: {sayWeek(shifts) || 'no shifts entered'}.<br />
        Closed:{' '}
        {closures
          .filter(({ toDate }) => toDate >= today)
          .slice(0, 6)
          .map(({ fromDate, toDate, reason }) => `${days(fromDate, toDate)}${reason ? ` (${reason})` : ''}`)
          .join(', ') || 'no day entered'}
        .<br />
        Peaks:{' '}
        {peaks
          .filter(({ toDate }) => toDate >= today)
          .map(
            ({ name: peak, fromDate, toDate, usageMultiplier, bars }) =>
              `${peak}, ${days(fromDate, toDate)}: ${usageMultiplier} × use, ${sayBars(bars)}`,
          )
          .join('; ') || 'none entered'}
        .
      </p>
    </section>
  )
}

function Types(): ReactNode {
  const types = useQuery({ queryKey: ['types'], queryFn: () => call('listMachineTypes') })
  return (
    <>
      <h2>Machine types and service plans</h2>
      {types.error ? <Fault error={types.error} /> : null}
      {types.isPending ? <Bones lines={4} /> : null}
      {types.data?.items.length === 0 ? <p className="soft">No type yet. The seven questions register the first.</p> : null}
      <ul className="plain sentences">
        {types.data?.items.map(({ id, name, drive, supply, heater, assumed, machineCount, currentPlanId, currentPlanVersion }) => (
          <li key={id}>
            <Link to={`/set-up/types/${id}`}>{name}</Link>: {sayWord(drive)},{' '}
            {supply === 'wired_in' ? 'wired in' : supply === 'none' ? 'no supply' : 'cord and plug'}, {heater ? 'heater' : 'no heater'};{' '}
            {sayCount(machineCount, 'machine', 'machines')}.{' '}
            {currentPlanId ? (
              <Link to={`/set-up/plans/${currentPlanId}`}>Service plan, version {currentPlanVersion}</Link>
            ) : (
              'No service plan.'
            )}
            <Assumed typeId={id} assumed={assumed} />
          </li>
        ))}
      </ul>
    </>
  )
}

const FACTS = {
  supply: [
    'Nobody has said whether it has a plug; taken as wired in.',
    [
      ['It has a plug', { supply: 'cord_and_plug' }],
      ['It is wired in', { supply: 'wired_in' }],
    ],
  ],
  heater: [
    'Nobody has said whether it has a heater; taken as having one.',
    [
      ['It has a heater', { heater: true }],
      ['No heater', { heater: false }],
    ],
  ],
} as const

/** Facts that were left open at the beginning: one tap each, and the sheets follow. */
function Assumed({ typeId, assumed }: { typeId: string; assumed: readonly ('supply' | 'heater')[] }): ReactNode {
  const me = useMe()
  const { error, change } = useChange()
  if (!mayDecide(me)) return null
  return (
    <>
      {error ? <Fault error={error} /> : null}
      {assumed.map((fact) => (
        <div key={fact} className="row">
          <span>{FACTS[fact][0]}</span>
          {FACTS[fact][1].map(([words, body]) => (
            <button
              key={words}
              className="small"
              onClick={() => void change(() => call('patchMachineType', { params: { machineTypeId: typeId }, body }))}
            >
              {words}
            </button>
          ))}
        </div>
      ))}
    </>
  )
}

function People(): ReactNode {
  const me = useMe()
  const people = usePeople()
  return (
    <>
      <h2>People</h2>
      {people.error ? <Fault error={people.error} /> : null}
      <p>
        {people.data ? `${sayCount(people.data.filter(({ disabled }) => !disabled).length, 'person', 'people')} work with this. ` : ''}
        <Link to="/set-up/people">People, instructions and absences</Link>
      </p>
      <p>
        <Link to="/set-up/tablets">Shared tablets</Link>
      </p>
      <p>
        <Link to="/set-up/webhooks">Word to other programs</Link>
      </p>
      {me.person.role === 'administrator' ? (
        <>
          <p>
            <Link to="/set-up/access-keys">Access keys for programs</Link>
          </p>
          <p>
            <Link to="/set-up/organisation">Everything as a file</Link>
          </p>
        </>
      ) : null}
    </>
  )
}

function Moving(): ReactNode {
  const health = useQuery({ queryKey: ['health'], queryFn: () => call('health') })
  if (health.error) return <Fault error={health.error} />
  if (!health.data) return null
  const { oldestPendingMessageSeconds, uncertainMessages, failedMessages, forecastsNotComputed } = health.data
  return (
    <>
      <h2>What should have moved</h2>
      <ul className="plain sentences">
        <li>
          {oldestPendingMessageSeconds === null
            ? 'No mail waits.'
            : `The oldest mail has waited ${Math.round(oldestPendingMessageSeconds / 60)} minutes.`}
        </li>
        <li>
          <Link to="/messages">{sayCount(uncertainMessages, 'mail is', 'mails are')} uncertain</Link>,{' '}
          {sayCount(failedMessages, 'was', 'were')} refused.
        </li>
        <li>{sayCount(forecastsNotComputed, 'date', 'dates')} could not be computed.</li>
        {health.data.wrong.map((sentence) => (
          <li key={sentence}>
            <strong>{sentence}</strong>
          </li>
        ))}
        <li>
          <Link to="/set-up/health">Mails, reminders, queue and clocks</Link>
        </li>
        <li>
          <Link to="/set-up/history">Who changed what</Link>
        </li>
      </ul>
    </>
  )
}
