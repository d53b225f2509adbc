/** Before a plan is saved: which dates move and by how much, and what becomes of the life used so far. */
import { type ReactNode, useEffect, useRef } from 'react'
import { Link } from 'react-router'
import type { Answer } from '../client/api.js'
import { sayCount, sayDay, sayWord } from '../ui/format.js'

type Preview = Answer<'previewServicePlan'>
type Line = Preview['tasks'][number]
type Move = Preview['moves'][number]

function sayMoves({ earlierCount, laterCount, sameCount, medianDays }: Line): string {
  const parts: string[] = []
  if (earlierCount > 0) parts.push(`${sayCount(earlierCount, 'date comes', 'dates come')} earlier`)
  if (laterCount > 0) parts.push(`${sayCount(laterCount, 'date comes', 'dates come')} later`)
  if (parts.length === 0) return sameCount > 0 ? 'No date of it moves.' : ''
  const middle = medianDays === null ? '' : `, the middle one by ${sayCount(Math.abs(medianDays), 'day', 'days')}`
  return `${parts.join(', ')}${middle}; ${sayCount(sameCount, 'stays', 'stay')} as ${sameCount === 1 ? 'it is' : 'they are'}.`
}

const CHANGES: Readonly<Record<Line['change'], string>> = {
  new: 'new',
  gone: 'no longer in the plan',
  triggers: 'falls due otherwise',
  content: 'sheet changed, dates not',
  same: 'unchanged',
}

export function Effect({ preview, today }: { preview: Preview; today: string }): ReactNode {
  const heading = useRef<HTMLHeadingElement>(null)
  useEffect(() => heading.current?.focus(), [preview])
  const touched = preview.tasks.filter(({ change }) => change !== 'same')
  return (
    <section aria-labelledby="effect">
      <h2 id="effect" tabIndex={-1} ref={heading}>
        What this version would do
      </h2>
      <p className="strong">
        {touched.length === 0 ? 'Nothing was changed. ' : `${sayCount(touched.length, 'task is', 'tasks are')} touched. `}
        {preview.movedCount === 0
          ? `No date of the ${sayCount(preview.machineCount, 'machine', 'machines')} of this type moves.`
          : `${sayCount(preview.movedCount, 'date', 'dates')} of ${sayCount(preview.machineCount, 'machine', 'machines')} of this type would change.`}
      </p>
      {preview.machinesComputed < preview.machineCount ? (
        <p>Computed for {preview.machinesComputed} of them; those retired or at no place have no date.</p>
      ) : null}
      <ul className="plain sentences">
        {touched.map((line) => (
          <li key={line.key}>
            <span className="strong">{line.name}</span> <span className="soft">({CHANGES[line.change]})</span>: {line.sentences.join(' ')}{' '}
            {line.change === 'content' ? '' : sayMoves(line)}
          </li>
        ))}
      </ul>
      {preview.moves.length > 0 ? <Moves moves={preview.moves} total={preview.movedCount} today={today} /> : null}
      <p className="small soft">Computed by the same planner that writes the dates each night, on today’s evidence. Nothing was kept.</p>
    </section>
  )
}

function sayDue(day: Move['before'], today: string): string {
  if (day === null) return 'not asked for'
  return day.dueOn === null ? sayWord(day.state) : sayDay(day.dueOn, today)
}

/** Machine by machine, what a change that is only shown would move. */
export function Moves({ moves, total, today }: { moves: readonly Move[]; total: number; today: string }): ReactNode {
  return (
    <details open={moves.length <= 12}>
      <summary>Machine by machine, the largest moves first{moves.length < total ? ` (${moves.length} of ${total})` : ''}</summary>
      <div className="wide">
        <table className="stacked">
          <thead>
            <tr>
              <th>Machine</th>
              <th>Task</th>
              <th>Last done</th>
              <th>Now</th>
              <th>Then</th>
              <th className="figure">Days</th>
            </tr>
          </thead>
          <tbody>
            {moves.map((move) => (
              <tr key={`${move.machineId}${move.taskKey}`}>
                <td className="whole">
                  <Link to={`/machines/${move.machineId}`}>{move.labelCode}</Link> <span className="soft">{move.warehouseName}</span>
                </td>
                <td>{move.taskName}</td>
                <td data-label="Last done">
                  {move.lastDoneOn === null ? <span className="soft">not known</span> : sayDay(move.lastDoneOn, today)}
                </td>
                <td data-label="Now">{sayDue(move.before, today)}</td>
                <td data-label="Then">{sayDue(move.after, today)}</td>
                <td className="figure" data-label="Days">
                  {move.days === null ? '' : `${move.days > 0 ? '+' : '−'}${Math.abs(move.days)}`}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </details>
  )
}
