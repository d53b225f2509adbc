/** A round of small outside care in walking order: caution on each line, one large tap a machine, a reason for each not done, undo at once. */
import { type ReactNode, useState } from 'react'
import type { HandMe } from './hand.js'
import { useKeeping, usePage } from './kept.js'
import { ask } from './server.js'
import { sayAge } from './today.js'

export interface RoundLine {
  machineId: string
  labelCode: string
  typeName: string
  stationName: string | null
  line: string
  caution: string
  tasks: { taskName: string; state: string }[]
  minutes: number
  mayDo: boolean
  answer: { entryId: string; outcome: 'done' | 'not_done'; reason: string | null; personName: string; canUndo: boolean } | null
}
export interface Round {
  warehouse: { id: string; name: string }
  month: string
  personName: string
  cautions: { key: string; text: string }[]
  acknowledgement: string
  acknowledged: unknown
  lines: RoundLine[]
  doneCount: number
  openCount: number
}

export const REASONS = [
  ['no_time', 'no time'],
  ['no_oil', 'no oil'],
  ['machine_not_here', 'machine not here'],
  ['must_not_open', 'must not open'],
] as const

export function RoundPage({ warehouseId }: { warehouseId: string; me: HandMe }): ReactNode {
  const page = usePage<Round>(`/api/v1/rounds?warehouseId=${warehouseId}`)
  const keeping = useKeeping()
  const [fault, setFault] = useState('')
  if (!page.data) return page.error ? <p className="note">{page.error.message}</p> : <div className="bone" />
  const round = page.data
  const mine = new Map(
    keeping.entries
      .filter(({ kind, body }) => kind === 'round' && body.warehouseId === warehouseId)
      .map(({ body }) => [body.machineId as string, body.outcome as 'done' | 'not_done']),
  )
  const act = async (doing: () => Promise<unknown>): Promise<void> => {
    setFault('')
    try {
      await doing()
      page.again()
    } catch (error) {
      setFault((error as Error).message)
    }
  }
  const common = { warehouseId, month: round.month }
  return (
    <RoundLines
      round={round}
      age={sayAge(page.at)}
      fault={fault}
      keptFor={mine}
      onAcknowledge={() =>
        act(() =>
          ask('POST', '/api/v1/rounds/acknowledgements', { ...common, entryId: crypto.randomUUID(), statement: round.acknowledgement }),
        )
      }
      onAnswer={(machineId, outcome, reason) =>
        act(() => keeping.keep({ kind: 'round', body: { ...common, machineId, outcome, ...(reason ? { reason } : {}) } }))
      }
      onUndo={(entryId) => act(() => ask('POST', `/api/v1/rounds/answers/${entryId}/undo`, {}))}
    />
  )
}

export interface RoundLinesProps {
  round: Round
  age: string
  fault: string
  keptFor: ReadonlyMap<string, 'done' | 'not_done'>
  onAcknowledge: () => Promise<void>
  onAnswer: (machineId: string, outcome: 'done' | 'not_done', reason?: string) => Promise<void>
  onUndo: (entryId: string) => Promise<void>
}

export function RoundLines({ round, age, fault, keptFor, onAcknowledge, onAnswer, onUndo }: RoundLinesProps): ReactNode {
  return (
    <>
      <h1 tabIndex={-1}>
        Round, {round.warehouse.name} <span className="soft">{round.month}</span>
      </h1>
      <p className="soft">
        {round.doneCount} done, {round.openCount} open; written down for {round.personName}. {age}
      </p>
      {fault ? (
        <p className="note alarmed" role="alert">
          {fault}
        </p>
      ) : null}
      {round.lines.length === 0 ? <p>Nothing is asked for here this month.</p> : null}
      {round.acknowledged === null && round.lines.length > 0 ? (
        <>
          <ol className="cautions">
            {round.cautions.map(({ key, text }) => (
              <li key={key}>{text}</li>
            ))}
          </ol>
          <button className="main" onClick={() => void onAcknowledge()}>
            {round.acknowledgement}
          </button>
        </>
      ) : (
        <ul className="plain">
          {round.lines.map((line) => (
            <Line key={line.machineId} line={line} kept={keptFor.get(line.machineId) ?? null} onAnswer={onAnswer} onUndo={onUndo} />
          ))}
        </ul>
      )}
    </>
  )
}

function Line({
  line,
  kept,
  onAnswer,
  onUndo,
}: { line: RoundLine; kept: 'done' | 'not_done' | null } & Pick<RoundLinesProps, 'onAnswer' | 'onUndo'>): ReactNode {
  const [asking, setAsking] = useState(false)
  const place = line.stationName ? `${line.line} ${line.stationName}` : 'at no station'
  return (
    <li className="part">
      <strong>
        {line.labelCode}, {place}
      </strong>
      <div className="soft small">
        {line.typeName}: {line.tasks.map(({ taskName }) => taskName).join('; ')}; {Math.round(line.minutes)} minutes
      </div>
      <p className="small caution">{line.caution}</p>
      {kept ? (
        <p>{kept === 'done' ? 'Done' : 'Not done'}, kept on this phone.</p>
      ) : line.answer ? (
        <p>
          {line.answer.outcome === 'done' ? 'Done' : `Not done: ${line.answer.reason?.replaceAll('_', ' ')}`}, saved (
          {line.answer.personName}).{' '}
          {line.answer.canUndo ? <button onClick={() => void onUndo(line.answer?.entryId ?? '')}>Undo</button> : null}
        </p>
      ) : line.mayDo ? (
        <div className="pair">
          <button className="main" onClick={() => void onAnswer(line.machineId, 'done')}>
            Done
          </button>
          <button onClick={() => setAsking(!asking)} aria-expanded={asking}>
            Not done…
          </button>
          {asking
            ? REASONS.map(([reason, words]) => (
                <button key={reason} onClick={() => void onAnswer(line.machineId, 'not_done', reason)}>
                  {words}
                </button>
              ))
            : null}
        </div>
      ) : (
        <p className="soft">You were not shown this care on this type; someone else does it.</p>
      )}
    </li>
  )
}
