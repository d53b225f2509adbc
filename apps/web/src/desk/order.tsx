/** One order on the desk: what is to be done and why, what was typed on site, and the decisions that are left. */
import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { Link, useParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayDay, sayInstant, sayMeasured, sayWord } from '../ui/format.js'
import { Bones, Heading, NoPage } from '../ui/parts.js'
import { Photos } from './photos.js'
import { sayAnswer } from './entry-words.js'
import { mayDecide, useMe, useToday, useZone } from './me.js'
import { DecideOrder } from './order-decide.js'
import { Entries } from './order-entries.js'

type Sheet = Answer<'getWorkOrder'>

export function Order(): ReactNode {
  const { workOrderId = '' } = useParams()
  const order = useQuery({ queryKey: ['work-order', workOrderId], queryFn: () => call('getWorkOrder', { params: { workOrderId } }) })
  if (order.isPending) return <Bones lines={12} />
  if (order.error) return <NoPage title="Order" error={order.error} again={() => void order.refetch()} />
  return <Page sheet={order.data} />
}

function Page({ sheet }: { sheet: Sheet }): ReactNode {
  const me = useMe()
  const today = useToday(sheet.warehouse.id)
  const zone = useZone(sheet.warehouse.id)
  return (
    <>
      <Heading title={`Order ${sheet.number}`}>
        Work order {sheet.number}{' '}
        <span className="soft">
          {sayWord(sheet.state)}
          {sheet.waitingFor ? ` for ${sayWord(sheet.waitingFor)}` : ''}
        </span>
      </Heading>
      <p>
        <Link to={`/machines/${sheet.machine.id}`}>{sheet.machine.labelCode}</Link>, {sheet.machine.typeName}, {sheet.warehouse.name}
        {sheet.station ? `, ${sheet.station.line} ${sheet.station.name}` : ''}.{' '}
        {sheet.technician ? `At ${sheet.technician.name}.` : 'Issued to nobody yet.'}{' '}
        {sheet.plannedOn ? `Planned for ${sayDay(sheet.plannedOn, today)}.` : ''} About {Math.round(sheet.minutesPlanned)} minutes.
        {sheet.minutesWorked === null ? '' : ` Took ${sheet.minutesWorked} minutes.`} {sheet.taggedOut ? 'The machine was tagged out.' : ''}
      </p>
      {sheet.cancelReason ? (
        <p>
          Cancelled: <q>{sheet.cancelReason}</q>
        </p>
      ) : null}
      {sheet.note ? (
        <p>
          Note: <q>{sheet.note}</q>
        </p>
      ) : null}
      {mayDecide(me) ? <DecideOrder sheet={sheet} /> : null}
      {sheet.tasks.map((task) => (
        <TaskPart key={task.id} task={task} sheet={sheet} />
      ))}
      {sheet.functionCheck.result ? (
        <>
          <h2>Function check</h2>
          <p>
            {sheet.functionCheck.result.withinTolerance ? 'Strips within tolerance' : 'Strips out of tolerance'} on{' '}
            {sayInstant(sheet.functionCheck.result.at, zone)}, by {sheet.functionCheck.result.byName}; nothing else was tested.
          </p>
        </>
      ) : null}
      <Photos of={{ workOrderId: sheet.id }} zone={zone} />
      <Entries sheet={sheet} zone={zone} />
    </>
  )
}

function TaskPart({ task, sheet }: { task: Sheet['tasks'][number]; sheet: Sheet }): ReactNode {
  const { units } = useMe().person
  const today = useToday(sheet.warehouse.id)
  return (
    <section aria-label={task.name}>
      <h2>{task.name}</h2>
      <p>
        {task.why} Due {sayDay(task.dueOn, today)}
        {task.late ? ', late' : ''}. {task.outcome === 'done' ? 'Done.' : ''}
        {task.outcome === 'not_done' ? (
          <>
            Not done: <q>{task.notDoneReason}</q>
          </>
        ) : null}
      </p>
      <details>
        <summary>
          {task.steps.length} steps{task.measurements.length > 0 ? `, ${task.measurements.length} measured values` : ''}
        </summary>
        <ol>
          {task.steps.map((step) => (
            <li key={step.key}>
              {step.text} {step.given ? <Given step={step} given={step.given} /> : null}
            </li>
          ))}
        </ol>
        {task.measurements.map(({ key, name, unit, given, planLimit, neverBelow, limitsFrom }) => (
          <p key={key}>
            {name}:{' '}
            {given.length === 0
              ? 'not measured'
              : given.map(({ valueMm, whenTaken }) => `${sayMeasured(valueMm, unit, units)} ${sayWord(whenTaken)}`).join(', ')}
            {planLimit === null ? '' : `; replace at ${sayMeasured(planLimit, unit, units)}`}
            {neverBelow === null ? '' : `, never below ${sayMeasured(neverBelow, unit, units)}`} <span className="soft">{limitsFrom}</span>
          </p>
        ))}
      </details>
    </section>
  )
}

type Step = Sheet['tasks'][number]['steps'][number]

function Given({ step, given }: { step: Step; given: NonNullable<Step['given']> }): ReactNode {
  const { said, words } = sayAnswer(step, given.answer)
  return (
    <span className="soft">
      – {words ? <q>{words}</q> : said}, {given.byName}
    </span>
  )
}
