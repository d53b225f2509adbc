/** A round of small outside care in walking order: caution on each line, one large tap a machine, a reason for each not done, undo at once. */
import { type ReactNode, useRef, useState } from 'react'
import { HandHeading, NoPage } from './heading.js'
import { type Round, type RoundLine } from './round-overlay.js'
import { type RoundActs, useRound } from './round-use.js'
import { sayAge } from './age.js'
import { useSettled } from '../ui/settled.js'

export const REASONS = [
  ['no_time', 'no time'],
  ['no_oil', 'no oil'],
  ['machine_not_here', 'machine not here'],
  ['must_not_open', 'must not open'],
] as const

export function RoundPage({ warehouseId }: { warehouseId: string }): ReactNode {
  const { page, round, ...acts } = useRound(warehouseId)
  if (!round) return page.error ? <NoPage title="Round" error={page.error} /> : <div className="bone" />
  return <RoundLines round={round} age={sayAge(page.at)} {...acts} />
}

export interface RoundLinesProps extends RoundActs {
  round: Round
  age: string
  fault?: string
}

export function RoundLines({ round, age, fault = '', onAcknowledge, onAnswer, onUndo }: RoundLinesProps): ReactNode {
  const toRead = round.acknowledged === null && round.lines.length > 0
  // An answered line is shorter, so the next one's button moves up to where the finger is.
  const settled = useSettled(`${toRead} ${round.lines.map(({ answer }) => (answer ? 1 : 0)).join('')}`)
  return (
    <>
      <HandHeading title={`Round, ${round.warehouse.name}`}>
        Round, {round.warehouse.name} <span className="soft">{sayMonth(round.month)}</span>
      </HandHeading>
      <p>
        {round.openCount} machines still to do, {round.doneCount} done. Written down under {round.personName}.{' '}
        <span className="soft">{age}</span>
      </p>
      {fault ? (
        <p className="note alarmed" role="alert">
          {fault}
        </p>
      ) : null}
      {round.listOf ? (
        <p className="note">These are the machines of {sayMonth(round.listOf)}: the list of this month comes with the network.</p>
      ) : null}
      {round.lines.length === 0 ? <p>Nothing is asked for here this month.</p> : null}
      {toRead ? (
        <CautionsOfRound round={round} onAcknowledge={onAcknowledge} />
      ) : (
        <ol className="plain" {...settled}>
          {round.lines.map((line) => (
            <Line key={line.machineId} line={line} onAnswer={onAnswer} onUndo={onUndo} />
          ))}
        </ol>
      )}
    </>
  )
}

export function CautionsOfRound({ round, onAcknowledge }: { round: Round } & Pick<RoundActs, 'onAcknowledge'>): ReactNode {
  return (
    <>
      <h2>Read before the first machine</h2>
      <ol className="cautions">
        {round.cautions.map(({ key, text }) => (
          <li key={key}>{text}</li>
        ))}
      </ol>
      <button className="main" onClick={() => void onAcknowledge()}>
        {round.acknowledgement}
      </button>
    </>
  )
}

const sayMonth = (month: string): string =>
  new Intl.DateTimeFormat('en-GB', { timeZone: 'UTC', month: 'long', year: 'numeric' }).format(new Date(`${month}-01T00:00:00Z`))

function Line({ line, onAnswer, onUndo }: { line: RoundLine } & Pick<RoundActs, 'onAnswer' | 'onUndo'>): ReactNode {
  const place = line.stationName ? `${line.line} ${line.stationName}` : 'at no station'
  return (
    <li className="part">
      <h2 className="at-line">
        {place} <span className="soft">{line.labelCode}</span>
      </h2>
      <p>
        {line.tasks.map(({ taskName }) => taskName).join('; ')}.{' '}
        <span className="soft small">
          {line.typeName}
          {line.minutes > 0 ? `, about ${Math.round(line.minutes)} minutes` : ''}.
        </span>
      </p>
      {line.answer ? <Answered line={line} onUndo={onUndo} /> : <ToAnswer line={line} onAnswer={onAnswer} />}
    </li>
  )
}

export function Answered({ line, onUndo }: { line: RoundLine } & Pick<RoundActs, 'onUndo'>): ReactNode {
  const { answer } = line
  if (!answer) return null
  const words = answer.outcome === 'done' ? 'Done' : `Not done: ${answer.reason?.replaceAll('_', ' ') ?? 'no reason'}`
  return (
    <div className="beside">
      <p role="status">
        <strong>{words}</strong>, {answer.kept ? 'kept on this phone' : `saved, ${answer.personName}`}
      </p>
      {answer.canUndo ? (
        <button onClick={() => void onUndo(answer.entryId)} aria-label={`Undo ${line.labelCode}`}>
          Undo
        </button>
      ) : null}
    </div>
  )
}

export function ToAnswer({ line, onAnswer }: { line: RoundLine } & Pick<RoundActs, 'onAnswer'>): ReactNode {
  const [asking, setAsking] = useState(false)
  const giving = useRef(false)
  /** A second tap before the first is kept is the same answer; where the phone is full, the bar above says that nothing was kept. */
  const give = (outcome: 'done' | 'not_done', reason?: string): void => {
    if (giving.current) return
    giving.current = true
    void onAnswer(line.machineId, outcome, reason)
      .catch(() => undefined)
      .finally(() => (giving.current = false))
  }
  if (!line.mayDo) return <p className="soft">You were not shown this care on this type; someone else does it.</p>
  return (
    <>
      <p className="caution">{line.caution}</p>
      <div className="stack">
        <button className="main" onClick={() => give('done')} aria-label={`${line.labelCode} done`}>
          Done
        </button>
        {asking ? (
          <div className="pair" role="group" aria-label={`Why ${line.labelCode} was not done`}>
            {REASONS.map(([reason, words]) => (
              <button key={reason} onClick={() => give('not_done', reason)}>
                {words}
              </button>
            ))}
          </div>
        ) : (
          <button onClick={() => setAsking(true)} aria-label={`${line.labelCode} not done: why?`}>
            Not done: why?
          </button>
        )}
      </div>
    </>
  )
}
