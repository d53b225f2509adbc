/** One sheet: cautions first, then one action a part, the function check of its reach, then done. */
import type { ReactNode } from 'react'
import type { HandMe } from './hand.js'
import { HandHeading, NoPage } from './heading.js'
import { useKeeping, usePage } from './kept.js'
import { Photos } from './photos.js'
import { type HandSheet, layOver } from './overlay.js'
import { WithReason } from '../ui/reason.js'
import { Away } from './server.js'
import { powerWords } from './power-words.js'
import { useSettled } from '../ui/settled.js'
import { UnderWay } from './sheet-task.js'
import { sayAge } from './age.js'

export type Enter = (body: Record<string, unknown>) => Promise<void>

const NEEDS_NETWORK_ONCE = 'This sheet was not opened on this phone before; it needs the network once.'

const ENDED = new Set(['done', 'looked_over', 'cancelled'])

export function Sheet({ workOrderId, me }: { workOrderId: string; me: HandMe }): ReactNode {
  const page = usePage<HandSheet>(`/api/v1/work-orders/${workOrderId}`)
  const keeping = useKeeping()
  if (!page.data)
    return page.error ? (
      <NoPage title="Order" error={page.error} more={page.error instanceof Away ? NEEDS_NETWORK_ONCE : ''} />
    ) : (
      <div className="bone" />
    )
  const sheet = layOver(page.data, keeping.notIn(page.at))
  const enter: Enter = (body) => keeping.keep({ kind: 'work', workOrderId, body })
  const { machine, station } = sheet
  return (
    <>
      <HandHeading title={`Order ${sheet.number}`}>
        {machine.labelCode} <span className="soft">order {sheet.number}</span>
      </HandHeading>
      <p className="soft">
        {machine.typeName}, {sheet.warehouse.name}
        {station ? `, ${station.line} ${station.name}` : ''}. {sayAge(page.at)}
      </p>
      {sheet.technician && sheet.technician.id !== me.person.id && !ENDED.has(sheet.state) ? (
        <p className="note">
          This order is with {sheet.technician.name}, not with you. What you entered is kept; ask before you go on with it.
        </p>
      ) : null}
      {machine.mayOpen === 'service_firm_only' ? (
        <p className="note alarmed">
          This machine is not ours to open: ask {machine.serviceFirm}, {machine.serviceTelephone}.
        </p>
      ) : null}
      {sheet.taggedOut ? <p className="note alarmed">Tagged out: it cannot be handed back.</p> : null}
      {sheet.hints.map((hint) => (
        <p key={hint} className="note">
          {hint}
        </p>
      ))}
      {sheet.note ? (
        <p className="note">
          <q>{sheet.note}</q>
        </p>
      ) : null}
      <Settled sheet={sheet}>
        <Part sheet={sheet} enter={enter} me={me} waiting={keeping.waiting} />
      </Settled>
      {sheet.acknowledged ? <Photos machineId={machine.id} workOrderId={sheet.id} /> : null}
    </>
  )
}

/** Each entry may bring another button to where the last one was. */
function Settled({ sheet, children }: { sheet: HandSheet; children: ReactNode }): ReactNode {
  const settled = useSettled(`${sheet.state} ${(sheet.entries ?? []).length}`)
  return <div {...settled}>{children}</div>
}

/** What is next, and nothing else. */
function Part({ sheet, enter, me, waiting }: { sheet: HandSheet; enter: Enter; me: HandMe; waiting: number }): ReactNode {
  switch (sheet.state) {
    case 'done':
    case 'looked_over':
      return <Finished waiting={waiting} />
    case 'cancelled':
      return (
        <p className="note">
          This order was called off at the desk
          {sheet.cancelReason ? (
            <>
              : <q>{sheet.cancelReason}</q>
            </>
          ) : (
            ''
          )}
          . Nothing more is to be done here; what you entered is kept. Where you have opened the machine, close it before it is used.
        </p>
      )
    case 'drafted':
      return <p className="note">This order is not issued yet; there is nothing to do here.</p>
    case 'issued':
    case 'returned':
      return <Begin sheet={sheet} words="Accept" onBegin={() => void enter({ kind: 'accept' })} enter={enter} />
  }
  if (!sheet.acknowledged) return <Cautions sheet={sheet} enter={enter} />
  if (sheet.state === 'accepted')
    return <Begin sheet={sheet} words="Begin the work" onBegin={() => void enter({ kind: 'start' })} enter={enter} />
  if (sheet.state === 'waiting')
    return (
      <>
        <p className="note">Waiting. Before you go on: {powerWords(sheet).beforeGoingOn}</p>
        <div className="stack">
          <button className="main" onClick={() => void enter({ kind: 'resume' })}>
            {powerWords(sheet).goOn}
          </button>
        </div>
      </>
    )
  return <UnderWay sheet={sheet} unit={me.person.units === 'us' ? 'in' : 'mm'} waiting={waiting} enter={enter} />
}

function Finished({ waiting }: { waiting: number }): ReactNode {
  return (
    <>
      <p className="note" role="status">
        {waiting > 0 ? 'Finished; kept on this phone until the server has answered.' : 'Finished and saved.'}
      </p>
      <a className="button main" href="#/">
        Here, today
      </a>
    </>
  )
}

function Begin({ sheet, words, onBegin, enter }: { sheet: HandSheet; words: string; onBegin: () => void; enter: Enter }): ReactNode {
  return (
    <>
      <ul>
        {sheet.tasks.map((task) => (
          <li key={task.id}>
            {task.name}, about {Math.round(task.minutes)} minutes{task.safetyCheck ? '; a safety check' : ''}
            <div className="soft small">{task.why}</div>
          </li>
        ))}
      </ul>
      <div className="stack">
        <button className="main" onClick={onBegin}>
          {words}
        </button>
        <WithReason
          open="Not trained for this, or cannot: hand it back…"
          question="Why? Not trained for this is a good reason."
          confirm="Hand it back"
          suggestions={['not trained for this']}
          onGive={(reason) => enter({ kind: 'hand_back', reason })}
        />
      </div>
    </>
  )
}

function Cautions({ sheet, enter }: { sheet: HandSheet; enter: Enter }): ReactNode {
  return (
    <>
      <h2>Read before the first step</h2>
      <ol className="cautions">
        {sheet.cautions.map(({ key, text }) => (
          <li key={key}>{text}</li>
        ))}
      </ol>
      <button className="main" onClick={() => void enter({ kind: 'acknowledge_cautions', statement: sheet.acknowledgement })}>
        {sheet.acknowledgement}
      </button>
      <p className="soft small">Your name and the time are kept with it.</p>
    </>
  )
}
