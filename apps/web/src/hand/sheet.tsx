/** One sheet: cautions first, one action a part, values with their limits, the function check of its reach, then done. */
import { type FormEvent, type ReactNode, useState } from 'react'
import type { HandMe } from './hand.js'
import { type Keeping, useKeeping, usePage } from './kept.js'
import { type HandSheet, type HandTask, isWorkedThrough, layOver, sayMeasured } from './overlay.js'
import { sayAge } from './today.js'

type Enter = (body: Record<string, unknown>) => Promise<void>

export function Sheet({ workOrderId, me }: { workOrderId: string; me: HandMe }): ReactNode {
  const page = usePage<HandSheet>(`/api/v1/work-orders/${workOrderId}`)
  const keeping = useKeeping()
  if (!page.data) return page.error ? <p className="note">{page.error.message}</p> : <div className="bone" />
  const sheet = layOver(page.data, keeping.entries)
  const enter: Enter = (body) => keeping.keep({ kind: 'work', workOrderId, body })
  return (
    <>
      <h1 tabIndex={-1}>
        {sheet.machine.labelCode} <span className="soft">order {sheet.number}</span>
      </h1>
      <p className="soft">
        {sheet.machine.typeName}, {sheet.warehouse.name}
        {sheet.station ? `, ${sheet.station.line} ${sheet.station.name}` : ''}. {sayAge(page.at)}
      </p>
      {sheet.machine.mayOpen === 'service_firm_only' ? (
        <p className="note alarmed">
          This machine is not ours to open: {sheet.machine.serviceFirm}, {sheet.machine.serviceTelephone}.
        </p>
      ) : null}
      {sheet.taggedOut ? <p className="note alarmed">Tagged out: it cannot be handed back.</p> : null}
      <Part sheet={sheet} enter={enter} me={me} keeping={keeping} />
    </>
  )
}

/** What is next, and nothing else. */
function Part({ sheet, enter, me, keeping }: { sheet: HandSheet; enter: Enter; me: HandMe; keeping: Keeping }): ReactNode {
  if (sheet.state === 'done' || sheet.state === 'looked_over')
    return (
      <>
        <p className="note">
          {keeping.waiting > 0 ? 'Finished; kept on this phone until the server has answered.' : 'Finished and saved.'}
        </p>
        <a className="button main" href="#/">
          Here, today
        </a>
      </>
    )
  if (sheet.state === 'cancelled' || sheet.state === 'drafted')
    return <p className="note">This order is {sheet.state === 'drafted' ? 'not issued yet' : 'cancelled'}; there is nothing to do here.</p>
  if (sheet.state === 'issued' || sheet.state === 'returned')
    return (
      <>
        <Overview sheet={sheet} />
        <button className="main" onClick={() => void enter({ kind: 'accept' })}>
          Accept
        </button>
        <HandBack enter={enter} />
      </>
    )
  if (!sheet.acknowledged) return <Cautions sheet={sheet} enter={enter} />
  if (sheet.state === 'accepted')
    return (
      <>
        <Overview sheet={sheet} />
        <button className="main" onClick={() => void enter({ kind: 'start' })}>
          Begin
        </button>
        <HandBack enter={enter} />
      </>
    )
  if (sheet.state === 'waiting')
    return (
      <>
        <p className="note">Waiting. Who holds the plug or lock now?</p>
        <button className="main" onClick={() => void enter({ kind: 'resume' })}>
          Go on: the plug is with me
        </button>
      </>
    )
  return <UnderWay sheet={sheet} enter={enter} me={me} />
}

function Overview({ sheet }: { sheet: HandSheet }): ReactNode {
  return (
    <ul>
      {sheet.tasks.map((task) => (
        <li key={task.id}>
          {task.name} ({Math.round(task.minutes)} minutes{task.safetyCheck ? ', safety check' : ''})
          <div className="soft small">{task.why}</div>
        </li>
      ))}
    </ul>
  )
}

function Cautions({ sheet, enter }: { sheet: HandSheet; enter: Enter }): ReactNode {
  return (
    <>
      <ol className="cautions">
        {sheet.cautions.map(({ key, text }) => (
          <li key={key}>{text}</li>
        ))}
      </ol>
      <button className="main" onClick={() => void enter({ kind: 'acknowledge_cautions', statement: sheet.acknowledgement })}>
        {sheet.acknowledgement}
      </button>
    </>
  )
}

function HandBack({ enter }: { enter: Enter }): ReactNode {
  const ask = (): void => {
    const reason = prompt('Why? Not trained for this is a good reason.')
    if (reason) void enter({ kind: 'hand_back', reason })
  }
  return (
    <p style={{ marginTop: 12 }}>
      <button onClick={ask}>Not trained for this, or cannot: hand it back…</button>
    </p>
  )
}

function UnderWay({ sheet, enter, me }: { sheet: HandSheet; enter: Enter; me: HandMe }): ReactNode {
  const task = sheet.tasks.find(({ outcome }) => outcome === null)
  return (
    <>
      <p className="soft small" aria-live="polite">
        {sheet.tasks.filter(({ outcome }) => outcome !== null).length} of {sheet.tasks.length} tasks closed.
      </p>
      {task ? (
        <TaskPart key={task.id} task={task} sheet={sheet} enter={enter} me={me} />
      ) : sheet.functionCheck.kind !== 'none' && sheet.functionCheck.result === null ? (
        <FunctionCheck sheet={sheet} enter={enter} />
      ) : (
        <Finish sheet={sheet} enter={enter} />
      )}
      <div className="pair part">
        <button
          onClick={() => {
            void enter({ kind: 'wait', waitingFor: 'part', note: '' })
          }}
        >
          Wait for a part
        </button>
        <button
          onClick={() => {
            const reason = prompt('Tag out: what is wrong?')
            if (reason) void enter({ kind: 'tag_out', reason })
          }}
        >
          Tag out…
        </button>
      </div>
    </>
  )
}

function TaskPart({ task, sheet, enter, me }: { task: HandTask; sheet: HandSheet; enter: Enter; me: HandMe }): ReactNode {
  const open = task.steps.find(({ answer, given, measurementKey }) =>
    answer === 'measurement'
      ? task.measurements.some(({ key, required, given: values }) => key === measurementKey && values.length === 0 && required)
      : given === null,
  )
  const [removal, setRemoval] = useState('worn')
  const number = open ? task.steps.indexOf(open) + 1 : task.steps.length
  return (
    <section className="part" aria-label={task.name}>
      <h2>{task.name}</h2>
      {task.cautions.map((caution) => (
        <p key={caution} className="caution">
          {caution}
        </p>
      ))}
      {open ? (
        <>
          <p className="soft small">
            Step {number} of {task.steps.length}
          </p>
          {open.caution ? <p className="caution">{open.caution}</p> : null}
          <p style={{ fontSize: '1.25rem' }}>{open.text}</p>
          <Answer key={open.key} step={open} task={task} enter={enter} me={me} />
        </>
      ) : null}
      {!open && isWorkedThrough(task) ? (
        <>
          {task.replacesComponent ? (
            <>
              <label htmlFor="removal">The old part was taken out because</label>
              <select id="removal" value={removal} onChange={(event) => setRemoval(event.target.value)}>
                <option value="worn">worn</option>
                <option value="broken">broken</option>
                <option value="planned">planned</option>
                <option value="unknown">not known</option>
              </select>
              <PartsUsed sheet={sheet} enter={enter} />
            </>
          ) : null}
          <button
            className="main"
            style={{ marginTop: 12 }}
            onClick={() =>
              void enter({ kind: 'task_done', taskId: task.id, ...(task.replacesComponent ? { removalReason: removal } : {}) })
            }
          >
            This task is done
          </button>
        </>
      ) : null}
      <p style={{ marginTop: 12 }}>
        <button
          onClick={() => {
            const reason = prompt('Why could it not be done?')
            if (reason) void enter({ kind: 'task_not_done', taskId: task.id, reason })
          }}
        >
          Could not do it…
        </button>
      </p>
    </section>
  )
}

function PartsUsed({ sheet, enter }: { sheet: HandSheet; enter: Enter }): ReactNode {
  return (
    <>
      {sheet.partsUsed.map(({ partName, quantity }, index) => (
        <p key={`${partName}${index}`}>
          Used: {quantity} × {partName}
        </p>
      ))}
      {sheet.partsThatFit.map(({ partId, name, onHand }) => (
        <p key={partId} style={{ marginTop: 8 }}>
          <button onClick={() => void enter({ kind: 'use_part', partId, quantity: 1 })}>
            Take one: {name} ({onHand} on hand)
          </button>
        </p>
      ))}
    </>
  )
}

function Answer({ step, task, enter, me }: { step: HandTask['steps'][number]; task: HandTask; enter: Enter; me: HandMe }): ReactNode {
  const give = (answer: string | boolean): void => void enter({ kind: 'answer_step', taskId: task.id, stepKey: step.key, answer })
  switch (step.answer) {
    case 'measurement':
      return <Measure task={task} measurementKey={step.measurementKey ?? ''} enter={enter} me={me} />
    case 'yes_no':
      return (
        <div className="pair">
          <button className="main" onClick={() => give(true)}>
            Yes
          </button>
          <button onClick={() => give(false)}>No</button>
        </div>
      )
    case 'choice':
      return (step.choices ?? []).map((choice) => (
        <p key={choice} style={{ margin: '0 0 8px' }}>
          <button onClick={() => give(choice)}>{choice}</button>
        </p>
      ))
    case 'text':
      return <TextAnswer onGive={give} />
    default:
      return (
        <button className="main" onClick={() => give(true)}>
          Done, next
        </button>
      )
  }
}

function TextAnswer({ onGive }: { onGive: (text: string) => void }): ReactNode {
  const [text, setText] = useState('')
  return (
    <>
      <label htmlFor="text-answer">Answer</label>
      <input id="text-answer" value={text} onChange={(event) => setText(event.target.value)} />
      <button className="main" style={{ marginTop: 12 }} disabled={text.trim() === ''} onClick={() => onGive(text.trim())}>
        Next
      </button>
    </>
  )
}

function Measure({ task, measurementKey, enter, me }: { task: HandTask; measurementKey: string; enter: Enter; me: HandMe }): ReactNode {
  const measurement = task.measurements.find(({ key }) => key === measurementKey)
  const unit = me.person.units === 'us' ? 'in' : 'mm'
  const [text, setText] = useState('')
  if (!measurement) return null
  const value = Number(text.replace(',', '.'))
  const fine = text.trim() !== '' && Number.isFinite(value) && value >= 0
  const mm = unit === 'in' ? value * 25.4 : value
  const said = fine ? sayMeasured(measurement, mm) : null
  const show = (limit: number | null): string => (limit === null ? '' : unit === 'in' ? `${(limit / 25.4).toFixed(3)} in` : `${limit} mm`)
  return (
    <>
      <label htmlFor="measured">
        {measurement.name}, {unit}
      </label>
      <input
        id="measured"
        inputMode="decimal"
        value={text}
        onChange={(event) => setText(event.target.value)}
        aria-describedby="limits"
        autoComplete="off"
      />
      <p id="limits" className="soft small">
        {measurement.planLimit === null ? '' : `Replace at ${show(measurement.planLimit)}.`}{' '}
        {measurement.neverBelow === null ? '' : `Never below ${show(measurement.neverBelow)}.`}
      </p>
      {said ? (
        <p className="note alarmed" role="status">
          {said}
        </p>
      ) : null}
      <button
        className="main"
        disabled={!fine}
        onClick={() =>
          void enter({ kind: 'measure', taskId: task.id, measurementKey, value, unit, enteredText: text.trim(), whenTaken: 'as_found' })
        }
      >
        Keep this value
      </button>
    </>
  )
}

function FunctionCheck({ sheet, enter }: { sheet: HandSheet; enter: Enter }): ReactNode {
  const { functionCheck: check } = sheet
  const asks = check.asks.flatMap(({ askedMm, times, what }) =>
    Array.from({ length: times }, (_, index) => ({ askedMm, what, id: `${askedMm}-${index}` })),
  )
  const [fault, setFault] = useState('')
  function submit(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const strips = asks.map(({ askedMm, id }) => ({ askedMm, measuredMm: Number(String(form.get(id)).replace(',', '.')) }))
    if (strips.some(({ measuredMm }) => !Number.isFinite(measuredMm))) return setFault('A length is no number.')
    setFault('')
    void enter({
      kind: 'function_check',
      tape: String(form.get('tape')),
      roll: String(form.get('roll')),
      strips,
      coversOn: form.get('covers') === 'on',
      cordLookedAt: form.get('cord') === 'on',
      wetStripTore: check.kind === 'full' ? form.get('wet') === 'on' : null,
    })
  }
  return (
    <section className="part" aria-label="Function check">
      <h2>Function check before hand-back</h2>
      <ol>
        {check.instructions.map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ol>
      {fault ? (
        <p className="note alarmed" role="alert">
          {fault}
        </p>
      ) : null}
      <form onSubmit={submit}>
        {asks.map(({ id, askedMm, what }) => (
          <div key={id} style={{ marginBottom: 8 }}>
            <label htmlFor={id}>
              Asked {askedMm} mm ({what}), measured mm
            </label>
            <input id={id} name={id} inputMode="decimal" required />
          </div>
        ))}
        <label htmlFor="tape">Tape</label>
        <select id="tape" name="tape" defaultValue={sheet.machine.tape}>
          <option value="plain">plain</option>
          <option value="reinforced">reinforced</option>
          <option value="unknown">not known</option>
        </select>
        <label htmlFor="roll" style={{ marginTop: 8 }}>
          Roll
        </label>
        <select id="roll" name="roll">
          <option value="full">full</option>
          <option value="half">half</option>
          <option value="end">near its end</option>
          <option value="not_noted">not noted</option>
        </select>
        {[
          ['covers', 'Covers are on'],
          ['cord', 'Cord and plug looked at'],
          ...(check.kind === 'full' ? [['wet', 'One wet strip on a carton: pulled off after a minute, the paper tore']] : []),
        ].map(([name, words]) => (
          <label key={name} style={{ display: 'flex', gap: 12, alignItems: 'center', minHeight: 52, fontSize: '1rem' }}>
            <input type="checkbox" name={name} style={{ width: 28, minHeight: 28 }} /> {words}
          </label>
        ))}
        <button className="main">Keep the check{check.toleranceMm === null ? '' : `; tolerance ${check.toleranceMm} mm`}</button>
      </form>
      <p className="soft small" style={{ marginTop: 12 }}>
        Out of tolerance: {check.ifOutOfTolerance.join(' ')}
      </p>
    </section>
  )
}

function Finish({ sheet, enter }: { sheet: HandSheet; enter: Enter }): ReactNode {
  const [minutes, setMinutes] = useState(String(Math.round(sheet.minutesPlanned)))
  return (
    <section className="part" aria-label="Finish">
      <h2>Finish</h2>
      {sheet.functionCheck.result && !sheet.functionCheck.result.withinTolerance ? (
        <p className="note alarmed">
          Strips were out of tolerance: change the roll and repeat the check before handing back, or tag it out.
        </p>
      ) : null}
      <label htmlFor="minutes">Minutes it took</label>
      <input id="minutes" inputMode="numeric" value={minutes} onChange={(event) => setMinutes(event.target.value)} />
      <p className="soft small">Your name stands under this work only. Covers are on; the plug goes in last.</p>
      <button
        className="main"
        disabled={!/^\d+$/.test(minutes)}
        onClick={() => void enter({ kind: 'finish', minutesWorked: Number(minutes), note: '' })}
      >
        Finish and hand back
      </button>
    </section>
  )
}
