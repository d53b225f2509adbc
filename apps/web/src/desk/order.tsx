/** One order on the desk: what is to be done and why, what was typed on site, and the decisions that are left. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { Link, useParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayDay, sayInstant, sayLength, sayWord } from '../ui/format.js'
import { Bones, Fault, Heading, NoPage } from '../ui/parts.js'
import { saveFile } from '../ui/save-file.js'
import { WithReason } from '../ui/reason.js'
import { Photos } from './photos.js'
import { mayDecide, useMe, useToday } from './me.js'
import { Issue } from './work.js'

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
  const zone = me.warehouses.find(({ id }) => id === sheet.warehouse.id)?.zone ?? 'UTC'
  return (
    <>
      <Heading title={`Order ${sheet.number}`}>
        Work order {sheet.number} <span className="soft">{sayWord(sheet.state)}</span>
      </Heading>
      <p>
        <Link to={`/machines/${sheet.machine.id}`}>{sheet.machine.labelCode}</Link>, {sheet.machine.typeName}, {sheet.warehouse.name}
        {sheet.station ? `, ${sheet.station.line} ${sheet.station.name}` : ''}.{' '}
        {sheet.technician ? `At ${sheet.technician.name}.` : 'Issued to nobody yet.'} About {Math.round(sheet.minutesPlanned)} minutes.
        {sheet.minutesWorked === null ? '' : ` Took ${sheet.minutesWorked} minutes.`} {sheet.taggedOut ? 'The machine was tagged out.' : ''}
      </p>
      {mayDecide(me) ? <Decide sheet={sheet} /> : null}
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
      <Photos workOrderId={sheet.id} />
      <h2>Entries</h2>
      {sheet.entries.length === 0 ? <p className="soft">Nothing was typed on site yet.</p> : null}
      <ul className="plain sentences small">
        {sheet.entries.map(({ id, kind, personName, madeAt, outcome, outcomeReason, settled }) => (
          <li key={id}>
            {sayInstant(madeAt, zone)}: {sayWord(kind)}, {personName ?? 'someone not named'}
            {outcome === 'applied' ? '' : ` – ${sayWord(outcome)}${outcomeReason ? `: ${outcomeReason}` : ''}`}
            {settled ? ` Settled by ${settled.byName}: the ${settled.counts} counts.${settled.note ? ` ${settled.note}` : ''}` : ''}
            {outcome === 'conflict' && !settled ? <Link to="/conflicts"> Say which counts</Link> : null}
          </li>
        ))}
      </ul>
      <p className="soft small">A ticked caution shows that it was ticked, not that the work was without danger.</p>
    </>
  )
}

function TaskPart({ task, sheet }: { task: Sheet['tasks'][number]; sheet: Sheet }): ReactNode {
  const me = useMe()
  const today = useToday(sheet.warehouse.id)
  return (
    <section aria-label={task.name}>
      <h2>{task.name}</h2>
      <p>
        {task.why} Due {sayDay(task.dueOn, today)}
        {task.late ? ', late' : ''}.{' '}
        {task.outcome === 'done' ? 'Done.' : task.outcome === 'not_done' ? `Not done: ${task.notDoneReason}` : ''}
      </p>
      <details>
        <summary>
          {task.steps.length} steps{task.measurements.length > 0 ? `, ${task.measurements.length} measured values` : ''}
        </summary>
        <ol>
          {task.steps.map(({ key, text, given }) => (
            <li key={key}>
              {text}{' '}
              {given ? (
                <span className="soft">
                  – {String(given.answer)}, {given.byName}
                </span>
              ) : null}
            </li>
          ))}
        </ol>
        {task.measurements.map(({ key, name, given, planLimit, neverBelow, limitsFrom }) => (
          <p key={key}>
            {name}:{' '}
            {given.length === 0
              ? 'not measured'
              : given.map(({ valueMm, whenTaken }) => `${sayLength(valueMm, me.person.units)} ${sayWord(whenTaken)}`).join(', ')}
            {planLimit === null ? '' : `; replace at ${sayLength(planLimit, me.person.units)}`}
            {neverBelow === null ? '' : `, never below ${sayLength(neverBelow, me.person.units)}`}{' '}
            <span className="soft">{limitsFrom}</span>
          </p>
        ))}
      </details>
    </section>
  )
}

function Decide({ sheet }: { sheet: Sheet }): ReactNode {
  const queries = useQueryClient()
  const [error, setError] = useState<unknown>(null)
  const params = { workOrderId: sheet.id }
  async function act(doing: () => Promise<unknown>): Promise<void> {
    setError(null)
    try {
      await doing()
      await queries.invalidateQueries()
    } catch (problem) {
      setError(problem)
    }
  }
  const allowed = new Set(sheet.allowed)
  return (
    <div className="row no-print">
      {allowed.has('issue') ? <Issue order={sheet} /> : null}
      {allowed.has('look_over') ? (
        <button className="main" onClick={() => void act(() => call('lookOverWorkOrder', { params, body: {} }))}>
          Looked over
        </button>
      ) : null}
      {allowed.has('return') ? (
        <WithReason
          open="Return to the technician…"
          question="Why does it go back to the technician?"
          confirm="Return it"
          onGive={(reason) => void act(() => call('returnWorkOrder', { params, body: { reason } }))}
        />
      ) : null}
      {allowed.has('cancel') ? (
        <WithReason
          open="Cancel…"
          question="Why is it cancelled?"
          confirm="Cancel the order"
          onGive={(reason) => void act(() => call('cancelWorkOrder', { params, body: { reason } }))}
        />
      ) : null}
      <button onClick={() => print()}>Print</button>
      {(['a4', 'letter'] as const).map((format) => (
        <button key={format} onClick={() => void act(async () => saveFile(await call('jobSheet', { params, query: { format } })))}>
          Job sheet, {format === 'a4' ? 'A4' : 'Letter'}
        </button>
      ))}
      {error ? <Fault error={error} /> : null}
    </div>
  )
}
