/** On a machine's page: its small outside care of this month, answered where one stands, as on the round. */
import type { ReactNode } from 'react'
import { useSettled } from '../ui/settled.js'
import { Answered, CautionsOfRound, ToAnswer } from './round.js'
import { useRound } from './round-use.js'

export function CareHere({ machineId, warehouseId }: { machineId: string; warehouseId: string }): ReactNode {
  const { round, onAcknowledge, onAnswer, onUndo } = useRound(warehouseId)
  const line = round?.lines.find((one) => one.machineId === machineId)
  // 'Done' stands where 'I have read this' stood.
  const settled = useSettled(round ? `${round.acknowledged === null} ${line?.answer?.entryId}` : null)
  if (!round || !line) return null
  return (
    <section className="part" aria-label="Care asked for this month" {...settled}>
      <h2>{line.tasks.map(({ taskName }) => taskName).join('; ')}</h2>
      {line.answer ? (
        <Answered line={line} onUndo={onUndo} />
      ) : round.acknowledged === null && line.mayDo ? (
        <CautionsOfRound round={round} onAcknowledge={onAcknowledge} />
      ) : (
        <ToAnswer line={line} onAnswer={onAnswer} />
      )}
    </section>
  )
}
