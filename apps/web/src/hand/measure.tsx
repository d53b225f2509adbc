/** One measured value: unit and limits beside the field, as found or as left, its meaning said before it is kept. */
import { type ReactNode, useState } from 'react'
import { lengthInMm, type LengthUnit, parseLength, sayLimit } from '../ui/lengths.js'
import { type HandTask, sayImplausible, sayMeasured } from './overlay.js'
import type { Enter } from './sheet.js'

export function Measure({
  task,
  measurementKey,
  unit,
  instead,
  enter,
}: {
  task: HandTask
  measurementKey: string
  unit: LengthUnit
  /** Of the value that was kept last. */
  instead: boolean
  enter: Enter
}): ReactNode {
  const measurement = task.measurements.find(({ key }) => key === measurementKey)
  const [text, setText] = useState('')
  const [whenTaken, setWhenTaken] = useState<'as_found' | 'as_left'>(
    instead && measurement?.given.at(-1)?.whenTaken === 'as_left' ? 'as_left' : 'as_found',
  )
  if (!measurement) return null
  const counts = measurement.unit === 'count'
  const value = parseLength(text)
  const said = value === null || counts ? null : sayMeasured(measurement, lengthInMm(value, unit))
  const implausible =
    value === null
      ? null
      : counts
        ? sayImplausible(measurement, value, String)
        : sayImplausible(measurement, lengthInMm(value, unit), (mm) => sayLimit(mm, unit))
  const limits = [
    measurement.planLimit === null ? null : `Replace at ${sayLimit(measurement.planLimit, unit)}.`,
    measurement.neverBelow === null ? null : `Never below ${sayLimit(measurement.neverBelow, unit)}.`,
  ].filter(Boolean)
  const keep = (): void =>
    void enter({
      kind: 'measure',
      taskId: task.id,
      measurementKey,
      value,
      unit: counts ? 'count' : unit,
      enteredText: text.trim(),
      whenTaken,
      ...(instead ? { instead } : {}),
    })
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault()
        if (value !== null) keep()
      }}
    >
      <label htmlFor="measured">
        {measurement.name}, {counts ? 'how many' : unit === 'in' ? 'inches, such as 0.375 or 3/8' : 'mm'}
      </label>
      <input
        id="measured"
        inputMode={unit === 'in' ? 'text' : 'decimal'}
        value={text}
        onChange={(event) => setText(event.target.value)}
        aria-describedby="limits measured-says"
        autoComplete="off"
      />
      <p id="limits" className="soft small">
        {counts ? '' : limits.join(' ')}
      </p>
      <fieldset className="choice">
        <legend className="seen-by-readers">Taken</legend>
        {(['as_found', 'as_left'] as const).map((when) => (
          <label key={when}>
            <input type="radio" name="when" checked={whenTaken === when} onChange={() => setWhenTaken(when)} />{' '}
            {when === 'as_found' ? 'as found' : 'as left'}
          </label>
        ))}
      </fieldset>
      <div id="measured-says" role="status">
        {implausible ? <p className="note alarmed">{implausible}</p> : null}
        {said ? <p className="note alarmed">{said}</p> : null}
        {text.trim() !== '' && value === null ? <p className="note alarmed">This cannot be read as a number.</p> : null}
      </div>
      <button className="main" disabled={value === null}>
        Keep this value
      </button>
    </form>
  )
}
