/** What a manager can decide about one order in the state that it is in. */
import { type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { Fault } from '../ui/parts.js'
import { WithReason } from '../ui/reason.js'
import { saveFile } from '../ui/save-file.js'
import { Issue } from './issue.js'
import { ChangeOrder, isEnded, isInHand } from './order-change.js'
import { ReturnOrder } from './order-return.js'
import { useChange } from './use-change.js'

export function DecideOrder({ sheet }: { sheet: Answer<'getWorkOrder'> }): ReactNode {
  const { error, change } = useChange()
  const [opened, setOpened] = useState<'change' | 'return' | null>(null)
  const params = { workOrderId: sheet.id }
  const allowed = new Set(sheet.allowed)
  const close = (): void => setOpened(null)
  if (opened === 'change') return <ChangeOrder sheet={sheet} onEnd={close} />
  if (opened === 'return') return <ReturnOrder sheet={sheet} onEnd={close} />
  return (
    <div className="row no-print">
      {allowed.has('issue') && !isInHand(sheet) ? <Issue order={sheet} /> : null}
      {allowed.has('look_over') ? (
        <button className="main" onClick={() => void change(() => call('lookOverWorkOrder', { params, body: {} }))}>
          Looked over
        </button>
      ) : null}
      {isEnded(sheet) ? null : (
        <button onClick={() => setOpened('change')}>{isInHand(sheet) ? 'Change technician, day, note…' : 'Change day, note…'}</button>
      )}
      {allowed.has('return') ? <button onClick={() => setOpened('return')}>Return to the technician…</button> : null}
      {allowed.has('cancel') ? (
        <WithReason
          open="Cancel…"
          question="Why is it cancelled?"
          confirm="Cancel the order"
          onGive={(reason) => void change(() => call('cancelWorkOrder', { params, body: { reason } }))}
        />
      ) : null}
      <button onClick={() => print()}>Print</button>
      {(['a4', 'letter'] as const).map((format) => (
        <button key={format} onClick={() => void change(async () => saveFile(await call('jobSheet', { params, query: { format } })))}>
          Job sheet, {format === 'a4' ? 'A4' : 'Letter'}
        </button>
      ))}
      {error ? <Fault error={error} /> : null}
    </div>
  )
}
