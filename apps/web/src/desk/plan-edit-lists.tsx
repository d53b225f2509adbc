/** Steps, measured values and cautions of a task: added, worded anew, moved and removed. */
import { type ReactNode, useState } from 'react'
import { LENGTH_PATTERN, type LengthUnit, shownLength, typedLength } from '../ui/lengths.js'
import { Field } from '../ui/parts.js'
import { useMe } from './me.js'
import { type DraftTask, keyFrom } from './plan-words.js'

type Change = (change: Partial<DraftTask>) => void
const replaced = <T,>(list: readonly T[], index: number, item: T): T[] => list.map((one, at) => (at === index ? item : one))
const without = <T,>(list: readonly T[], index: number): T[] => list.filter((_, at) => at !== index)
function swapped<T>(list: readonly T[], index: number): T[] {
  const next = [...list]
  const [a, b] = [next[index - 1], next[index]]
  if (a !== undefined && b !== undefined) [next[index - 1], next[index]] = [b, a]
  return next
}

export function Cautions({ task, onChange }: { task: DraftTask; onChange: Change }): ReactNode {
  return (
    <fieldset className="plain">
      <legend className="strong">Cautions of its own</legend>
      <p className="small soft">
        The lines that the machine itself calls for (plug, blade, heater, solvent) stand on every sheet and cannot be taken away here.
      </p>
      {task.cautions.map((text, index) => (
        <div key={index} className="item">
          <Field label={`Caution ${index + 1}`}>
            {(id) => (
              <textarea
                id={id}
                value={text}
                required
                maxLength={500}
                rows={2}
                onChange={(event) => onChange({ cautions: replaced(task.cautions, index, event.target.value) })}
              />
            )}
          </Field>
          <button type="button" onClick={() => onChange({ cautions: without(task.cautions, index) })}>
            Remove caution {index + 1}
          </button>
        </div>
      ))}
      <button type="button" onClick={() => onChange({ cautions: [...task.cautions, ''] })}>
        Add a caution
      </button>
    </fieldset>
  )
}

export function Steps({ task, onChange }: { task: DraftTask; onChange: Change }): ReactNode {
  const put = (index: number, more: Partial<DraftTask['steps'][number]>): void => {
    const step = task.steps[index]
    if (step) onChange({ steps: replaced(task.steps, index, { ...step, ...more }) })
  }
  const add = (): void =>
    onChange({
      steps: [
        ...task.steps,
        {
          key: keyFrom(
            'step',
            task.steps.map(({ key }) => key),
          ),
          text: '',
          answer: 'tick',
        },
      ],
    })
  return (
    <fieldset className="plain">
      <legend className="strong">Steps, verb first</legend>
      {task.steps.map((step, index) => (
        <div key={step.key} className="item">
          <Field label={`Step ${index + 1}`}>
            {(id) => (
              <textarea
                id={id}
                value={step.text}
                required
                maxLength={1000}
                rows={2}
                onChange={(event) => put(index, { text: event.target.value })}
              />
            )}
          </Field>
          <Field label="Caution where the hand is about to go">
            {(id) => (
              <input
                id={id}
                value={step.caution ?? ''}
                maxLength={500}
                onChange={(event) => put(index, { caution: event.target.value || undefined })}
              />
            )}
          </Field>
          <Field label="Answered by">
            {(id) => (
              <select
                id={id}
                value={step.answer}
                onChange={(event) => {
                  const answer = event.target.value as typeof step.answer
                  const first = task.measurements[0]?.key
                  put(index, { answer, measurementKey: answer === 'measurement' ? (step.measurementKey ?? first) : undefined })
                }}
              >
                <option value="tick">a tick</option>
                <option value="yes_no">yes or no</option>
                {task.measurements.length > 0 ? <option value="measurement">a measured value</option> : null}
                <option value="choice">a choice</option>
                <option value="text">words</option>
              </select>
            )}
          </Field>
          {step.answer === 'measurement' ? (
            <Field label="Which value">
              {(id) => (
                <select id={id} value={step.measurementKey ?? ''} onChange={(event) => put(index, { measurementKey: event.target.value })}>
                  {task.measurements.map(({ key, name }) => (
                    <option key={key} value={key}>
                      {name}
                    </option>
                  ))}
                </select>
              )}
            </Field>
          ) : null}
          {step.answer === 'choice' ? (
            <Field label="Choices, parted by commas">
              {(id) => (
                <input
                  id={id}
                  defaultValue={(step.choices ?? []).join(', ')}
                  required
                  onBlur={(event) =>
                    put(index, { choices: event.target.value.split(',').flatMap((text) => (text.trim() ? [text.trim()] : [])) })
                  }
                />
              )}
            </Field>
          ) : null}
          <div className="row">
            {index > 0 ? (
              <button type="button" onClick={() => onChange({ steps: swapped(task.steps, index) })}>
                Before step {index}
              </button>
            ) : null}
            <button type="button" onClick={() => onChange({ steps: without(task.steps, index) })}>
              Remove step {index + 1}
            </button>
          </div>
        </div>
      ))}
      <button type="button" onClick={add}>
        Add a step
      </button>
    </fieldset>
  )
}

const LIMITS = [
  ['planLimit', 'Replace at'],
  ['neverBelow', 'Never below'],
] as const
const PLAUSIBLE = [
  ['plausibleFrom', 'Plausible from'],
  ['plausibleTo', 'Plausible to'],
] as const

type Limit = number | 'type' | undefined

/** A limit as it is written: what is left untouched stays as it was stored. */
export function readLimit(text: string, before: Limit, unit: LengthUnit): Limit {
  if (text.trim() === 'type') return 'type'
  return typedLength(text, typeof before === 'number' ? before : null, unit) ?? undefined
}

function LimitField({
  label,
  value,
  unit,
  ofType,
  onChange,
}: {
  label: string
  value: Limit
  unit: LengthUnit | null
  /** It may be left to the machine type. */
  ofType: boolean
  onChange: (value: Limit) => void
}): ReactNode {
  // A count has no unit, and is read as it is.
  const read = unit ?? 'mm'
  const [opened] = useState(value)
  return (
    <Field label={label} unit={unit ?? undefined} hint={ofType ? "Empty: no limit. 'type': that of the machine type." : undefined}>
      {(id) => (
        <input
          id={id}
          defaultValue={value === 'type' ? value : shownLength(value ?? null, read)}
          pattern={ofType ? `type|${LENGTH_PATTERN}` : LENGTH_PATTERN}
          title="A number such as 9.5 or 3/8"
          onBlur={({ target }) => {
            const next = target.validity.valid ? readLimit(target.value, opened, read) : value
            // Told also where it cannot be read: what was shown of the effect is of another plan than the one that stands here.
            if (next !== value || !target.validity.valid) onChange(next)
          }}
        />
      )}
    </Field>
  )
}

export function Measurements({ task, onChange }: { task: DraftTask; onChange: Change }): ReactNode {
  type Measurement = DraftTask['measurements'][number]
  const unit = useMe().person.units === 'us' ? 'in' : 'mm'
  const put = (index: number, more: Partial<Measurement>): void => {
    const one = task.measurements[index]
    if (one) onChange({ measurements: replaced(task.measurements, index, { ...one, ...more }) })
  }
  const add = (): void => {
    const key = keyFrom(
      'value',
      task.measurements.map((one) => one.key),
    )
    onChange({ measurements: [...task.measurements, { key, name: '', unit: 'mm', required: true }] })
  }
  return (
    <fieldset className="plain">
      <legend className="strong">Measured values</legend>
      {task.measurements.map((one, index) => (
        <div key={one.key} className="item">
          <Field label={`Value ${index + 1}`}>
            {(id) => (
              <input id={id} value={one.name} required maxLength={200} onChange={(event) => put(index, { name: event.target.value })} />
            )}
          </Field>
          <div className="row">
            {LIMITS.map(([key, label]) => (
              <LimitField
                key={key}
                label={label}
                value={one[key]}
                unit={one.unit === 'count' ? null : unit}
                ofType
                onChange={(value) => put(index, { [key]: value })}
              />
            ))}
            {PLAUSIBLE.map(([key, label]) => (
              <LimitField
                key={key}
                label={label}
                value={one[key]}
                unit={one.unit === 'count' ? null : unit}
                ofType={false}
                onChange={(value) => put(index, { [key]: value })}
              />
            ))}
          </div>
          <label className="box">
            <input type="checkbox" checked={one.required} onChange={(event) => put(index, { required: event.target.checked })} /> ‘Done’
            needs this value
          </label>
          <button
            type="button"
            disabled={task.steps.some(({ measurementKey }) => measurementKey === one.key)}
            onClick={() => onChange({ measurements: without(task.measurements, index) })}
          >
            Remove value {index + 1}
          </button>
        </div>
      ))}
      <button type="button" onClick={add}>
        Add a measured value
      </button>
    </fieldset>
  )
}
