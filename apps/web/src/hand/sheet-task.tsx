/** The work itself: one task at a time, one step at a time, the caution where the hand is about to go. */
import { type ReactNode, useEffect, useRef, useState } from 'react'
import type { LengthUnit } from '../ui/lengths.js'
import { Finish } from './finish.js'
import { FunctionCheck } from './function-check.js'
import { type HandSheet, type HandTask, isWorkedThrough, openStep, partsToBook, stepBefore } from './overlay.js'
import { PartsUsed } from './parts-used.js'
import { WithReason } from '../ui/reason.js'
import { Answer, answeredWith } from './sheet-answer.js'
import type { Enter } from './sheet.js'

/** What comes next is read from its beginning, wherever the thumb was when it came. */
function useFromTheTop(shown: string): void {
  const last = useRef(shown)
  useEffect(() => {
    if (last.current !== shown) scrollTo(0, 0)
    last.current = shown
  }, [shown])
}

export function UnderWay({
  sheet,
  unit,
  waiting,
  enter,
}: {
  sheet: HandSheet
  unit: LengthUnit
  waiting: number
  enter: Enter
}): ReactNode {
  const [again, setAgain] = useState(false)
  const [attempt, setAttempt] = useState(0)
  const task = sheet.tasks.find(({ outcome }) => outcome === null)
  const { kind, result } = sheet.functionCheck
  // A tagged-out machine is not handed back, so no check stands before its end.
  const checkIsOpen = kind !== 'none' && !sheet.taggedOut && (again || result === null || result.withinTolerance === false)
  const closed = sheet.tasks.filter(({ outcome }) => outcome !== null).length
  useFromTheTop(task?.id ?? (checkIsOpen ? 'check' : 'finish'))
  return (
    <>
      <p className="soft small" aria-live="polite">
        {closed} of {sheet.tasks.length} tasks closed.
      </p>
      {task ? (
        <TaskPart key={task.id} task={task} sheet={sheet} unit={unit} enter={enter} />
      ) : checkIsOpen ? (
        <FunctionCheck
          key={attempt}
          sheet={sheet}
          unit={unit}
          enter={async (body) => {
            await enter(body)
            setAgain(false)
            setAttempt(attempt + 1)
            scrollTo(0, 0)
          }}
        />
      ) : (
        <Finish sheet={sheet} waiting={waiting} enter={enter} onCheckAgain={kind === 'none' ? null : () => setAgain(true)} />
      )}
      <LeftUndone sheet={sheet} enter={enter} />
      <DoneSoFar sheet={sheet} enter={enter} />
      <Aside sheet={sheet} enter={enter} />
    </>
  )
}

/** What could not be done, and may be done after all while one is still at the machine. */
function LeftUndone({ sheet, enter }: { sheet: HandSheet; enter: Enter }): ReactNode {
  const undone = sheet.tasks.filter(({ outcome }) => outcome === 'not_done')
  if (undone.length === 0) return null
  return (
    <section className="part" aria-label="Not done">
      <h2>Not done</h2>
      {undone.map(({ id, name, notDoneReason }) => (
        <div key={id} className="beside">
          <span>
            {name}
            {notDoneReason ? `: ${notDoneReason}` : ''}
          </span>
          <button aria-label={`Do it after all: ${name}`} onClick={() => void enter({ kind: 'task_again', taskId: id })}>
            Do it after all
          </button>
        </div>
      ))}
    </section>
  )
}

/** What was closed by mistake is open again; where a part was exchanged with it, the desk strikes it out. */
function DoneSoFar({ sheet, enter }: { sheet: HandSheet; enter: Enter }): ReactNode {
  const done = sheet.tasks.filter(({ outcome, replacesComponent }) => outcome === 'done' && !replacesComponent)
  if (done.length === 0) return null
  return (
    <details className="part">
      <summary>Closed by mistake? Open it again…</summary>
      {done.map(({ id, name }) => (
        <div key={id} className="beside">
          <span>{name}</span>
          <button aria-label={`Open it again: ${name}`} onClick={() => void enter({ kind: 'task_again', taskId: id })}>
            Open it again
          </button>
        </div>
      ))}
    </details>
  )
}

/** What can stop the work: waiting, a tag, something found. */
function Aside({ sheet, enter }: { sheet: HandSheet; enter: Enter }): ReactNode {
  const wait = (waitingFor: string): void => void enter({ kind: 'wait', waitingFor, note: '' })
  return (
    <details className="part">
      <summary>Stop for something: wait, tag out, found something…</summary>
      <div className="stack">
        <button onClick={() => wait('part')}>Wait for a part</button>
        <button onClick={() => wait('access')}>Wait until I can get to it</button>
        <button onClick={() => wait('second_person')}>Wait for a second or qualified person</button>
        <WithReason
          open="Found something else…"
          question="What did you find?"
          confirm="Keep the finding"
          onGive={(text) => enter({ kind: 'finding', text })}
        />
        <WithReason
          open="Found something that could hurt somebody…"
          question="What could hurt whom? If nobody must use it now, tag it out as well."
          confirm="Keep the finding"
          onGive={(text) => enter({ kind: 'finding', text, safety: true })}
        />
        {sheet.taggedOut ? null : (
          <WithReason
            open="Tag out…"
            question="Why must nobody use it?"
            confirm="Tag out"
            onGive={(reason) => enter({ kind: 'tag_out', reason })}
          />
        )}
        <WithReason
          open="Not trained for this, or cannot go on: hand it back…"
          question="Why? Not trained for this is a good reason."
          confirm="Hand it back"
          suggestions={['not trained for this']}
          onGive={(reason) => enter({ kind: 'hand_back', reason })}
        />
      </div>
    </details>
  )
}

function TaskPart({ task, sheet, unit, enter }: { task: HandTask; sheet: HandSheet; unit: LengthUnit; enter: Enter }): ReactNode {
  const [again, setAgain] = useState<string | null>(null)
  const step = task.steps.find(({ key }) => key === again) ?? openStep(task)
  const before = stepBefore(task, step)
  useFromTheTop(step?.key ?? 'close')
  const enterOnce: Enter = async (body) => {
    await enter(body)
    setAgain(null)
  }
  return (
    <section className="part" aria-label={task.name}>
      <h2>{task.name}</h2>
      {task.cautions.map((caution) => (
        <p key={caution} className="caution">
          {caution}
        </p>
      ))}
      {step ? (
        <>
          <p className="soft small">
            Step {task.steps.indexOf(step) + 1} of {task.steps.length}
          </p>
          {step.caution ? <p className="caution">{step.caution}</p> : null}
          <p className="step" aria-live="polite">
            {step.text}
          </p>
          {again === null ? null : <p className="note">{answeredWith(task, step, unit)} What you say now counts instead.</p>}
          <Answer key={`${step.key} ${again}`} step={step} task={task} unit={unit} instead={again !== null} enter={enterOnce} />
        </>
      ) : null}
      {!step && isWorkedThrough(task) ? <CloseTask task={task} sheet={sheet} enter={enter} /> : null}
      <div className="stack">
        {again === null ? null : <button onClick={() => setAgain(null)}>Leave it as it is</button>}
        {before ? <button onClick={() => setAgain(before.key)}>Back to the step before</button> : null}
        <WithReason
          open="Could not do it…"
          question="Why could it not be done?"
          confirm="Leave it open"
          suggestions={['no part', 'no access', 'needs a qualified person']}
          onGive={(reason) => enter({ kind: 'task_not_done', taskId: task.id, reason })}
        />
      </div>
    </section>
  )
}

function CloseTask({ task, sheet, enter }: { task: HandTask; sheet: HandSheet; enter: Enter }): ReactNode {
  const [removal, setRemoval] = useState('')
  const replaces = task.replacesComponent
  const toBook = partsToBook(sheet, [task])
  return (
    <>
      {replaces ? (
        <>
          <label htmlFor="removal">The old part came out because it was</label>
          <select id="removal" value={removal} onChange={(event) => setRemoval(event.target.value)}>
            <option value="">choose …</option>
            <option value="worn">worn</option>
            <option value="broken">broken</option>
            <option value="planned">due to be replaced</option>
            <option value="unknown">not known</option>
          </select>
          <PartsUsed sheet={sheet} tasks={[task]} enter={enter} />
        </>
      ) : null}
      <button
        className="main"
        disabled={replaces && (removal === '' || toBook.length > 0)}
        onClick={() => void enter({ kind: 'task_done', taskId: task.id, ...(replaces ? { removalReason: removal } : {}) })}
      >
        This task is done
      </button>
    </>
  )
}
