/** The check before hand-back: asked and measured side by side, tape and roll noted, what to look at next when strips are off. */
import { type FormEvent, type ReactNode, useState } from 'react'
import { lengthInMm, type LengthUnit, parseLength, sayLimit } from '../ui/lengths.js'
import type { HandSheet } from './overlay.js'
import { powerWords } from './power-words.js'
import type { Enter } from './sheet.js'

export function FunctionCheck({ sheet, unit, enter }: { sheet: HandSheet; unit: LengthUnit; enter: Enter }): ReactNode {
  const { functionCheck: check } = sheet
  const strips = check.asks.flatMap(({ askedMm, times, what }) =>
    Array.from({ length: times }, (_, index) => ({ askedMm, what, id: `strip-${askedMm}-${index}` })),
  )
  const [faults, setFaults] = useState<readonly string[]>([])
  function submit(event: FormEvent<HTMLFormElement>): void {
    event.preventDefault()
    const form = new FormData(event.currentTarget)
    const read = strips.map(({ askedMm, id }) => ({ id, askedMm, value: parseLength(String(form.get(id))) }))
    const wrong = read.filter(({ value }) => value === null).map(({ id }) => id)
    setFaults(wrong)
    if (wrong.length > 0) return document.getElementById(wrong[0] ?? '')?.focus()
    void enter({
      kind: 'function_check',
      tape: String(form.get('tape')),
      roll: String(form.get('roll')),
      strips: read.map(({ askedMm, value }) => ({ askedMm, measuredMm: lengthInMm(value ?? 0, unit) })),
      coversOn: form.get('covers') === 'on',
      cordLookedAt: form.get('cord') === 'on',
      wetStripTore: check.kind === 'full' ? form.get('wet') === 'on' : null,
    })
  }
  return (
    <section className="part" aria-label="Function check">
      <h2>Function check before hand-back</h2>
      {check.result ? <OutOfTolerance sheet={sheet} /> : null}
      <ol>
        {check.instructions.map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ol>
      {faults.length > 0 ? (
        <p className="note alarmed" role="alert">
          {faults.length === 1 ? 'One length cannot' : `${faults.length} lengths cannot`} be read as a number. Nothing you typed is gone.
        </p>
      ) : null}
      <form onSubmit={submit}>
        {strips.map(({ id, askedMm, what }) => (
          <div key={id} className="strip">
            <label htmlFor={id}>
              Asked {sayLimit(askedMm, unit)} ({what}); measured, {unit}
            </label>
            <input
              id={id}
              name={id}
              inputMode={unit === 'in' ? 'text' : 'decimal'}
              required
              autoComplete="off"
              aria-invalid={faults.includes(id)}
            />
          </div>
        ))}
        <TapeAndRoll tape={sheet.machine.tape} />
        <Looked full={check.kind === 'full'} cord={powerWords(sheet).cord} />
        <button className="main">Keep this check</button>
        <p className="soft small">
          {check.toleranceMm === null
            ? 'This type states no tolerance: lengths are noted, not judged.'
            : `Tolerance ${sayLimit(check.toleranceMm, unit)} each way.`}
        </p>
      </form>
    </section>
  )
}

function OutOfTolerance({ sheet }: { sheet: HandSheet }): ReactNode {
  return (
    <div className="note alarmed" role="status">
      <p>The last strips were out of tolerance. Change the roll and repeat the check, or tag the machine out. Then look, in this order:</p>
      <ol>
        {sheet.functionCheck.ifOutOfTolerance.map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ol>
    </div>
  )
}

function TapeAndRoll({ tape }: { tape: string }): ReactNode {
  return (
    <>
      <label htmlFor="tape">Tape</label>
      <select id="tape" name="tape" defaultValue={tape}>
        <option value="plain">plain</option>
        <option value="reinforced">reinforced</option>
        <option value="unknown">not known</option>
      </select>
      <label htmlFor="roll">Roll</label>
      <select id="roll" name="roll" defaultValue="not_noted">
        <option value="not_noted">not noted</option>
        <option value="full">full</option>
        <option value="half">half</option>
        <option value="end">near its end</option>
      </select>
    </>
  )
}

function Looked({ full, cord }: { full: boolean; cord: string }): ReactNode {
  const lines: [string, string][] = [
    ['covers', 'The covers are on'],
    ...(cord === '' ? [] : ([['cord', cord]] as [string, string][])),
    ...(full ? ([['wet', 'One wet strip on a carton, pulled off after a minute: the paper tore']] as [string, string][]) : []),
  ]
  return lines.map(([name, words]) => (
    <label key={name} className="tick">
      <input type="checkbox" name={name} /> <span>{words}</span>
    </label>
  ))
}
