/** One step's answer: a tap, a yes or no, a choice, words of one's own, or a measured value. */
import { type ReactNode, useState } from 'react'
import { type LengthUnit, sayLimit } from '../ui/lengths.js'
import { Measure } from './measure.js'
import type { HandStep, HandTask } from './overlay.js'
import type { Enter } from './sheet.js'

/** How a step stands that one has gone back to. */
export function answeredWith(task: HandTask, { answer, given, measurementKey }: HandStep, unit: LengthUnit): string {
  const length = task.measurements.find(({ key }) => key === measurementKey)?.given.at(-1)
  if (answer === 'measurement' && length) return `Kept so far: ${sayLimit(length.valueMm, unit)}.`
  if (answer === 'yes_no') return `Answered so far: ${given?.answer === true ? 'yes' : 'no'}.`
  return `Answered so far: ${given === null || given.answer === true ? 'done' : String(given.answer)}.`
}

export function Answer({
  step,
  task,
  unit,
  instead,
  enter,
}: {
  step: HandStep
  task: HandTask
  unit: LengthUnit
  instead: boolean
  enter: Enter
}): ReactNode {
  const give = (answer: string | boolean): void => void enter({ kind: 'answer_step', taskId: task.id, stepKey: step.key, answer })
  switch (step.answer) {
    case 'measurement':
      return <Measure task={task} measurementKey={step.measurementKey ?? ''} unit={unit} instead={instead} enter={enter} />
    case 'yes_no':
      return (
        <div className="pair">
          <button className="main" onClick={() => give(true)}>
            Yes
          </button>
          <button className="main" onClick={() => give(false)}>
            No
          </button>
        </div>
      )
    case 'choice':
      return (
        <div className="stack">
          {(step.choices ?? []).map((choice) => (
            <button key={choice} onClick={() => give(choice)}>
              {choice}
            </button>
          ))}
        </div>
      )
    case 'text':
      return <TextAnswer onGive={give} />
    default:
      return (
        <button className="main" onClick={() => give(true)}>
          Done, next step
        </button>
      )
  }
}

function TextAnswer({ onGive }: { onGive: (text: string) => void }): ReactNode {
  const [text, setText] = useState('')
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault()
        if (text.trim()) onGive(text.trim())
      }}
    >
      <label htmlFor="text-answer">In your words</label>
      <input id="text-answer" value={text} maxLength={2000} onChange={(event) => setText(event.target.value)} />
      <button className="main" disabled={text.trim() === ''}>
        Keep and go on
      </button>
    </form>
  )
}
