/** The waits of a stoppage in its form: for what, from when to when; added and removed. */
import { waitReasonSchema } from '@tapewarden/shared'
import { type ReactNode, useRef } from 'react'
import { Field } from '../ui/parts.js'
import { WallField } from '../ui/wall-field.js'
import type { WaitLine } from './stoppage-changes.js'
import { sayWait } from './stoppage-words.js'

const MOST = 50

export function Waits({
  lines,
  onLines,
  zone,
  faultOf,
}: {
  lines: readonly WaitLine[]
  onLines: (lines: WaitLine[]) => void
  zone: string
  faultOf: (line: WaitLine, part: string) => string | undefined
}): ReactNode {
  const add = useRef<HTMLButtonElement>(null)
  const next = Math.max(-1, ...lines.map(({ key }) => key)) + 1
  const remove = (line: WaitLine): void => {
    onLines(lines.filter((other) => other !== line))
    // The button that was pressed is gone.
    add.current?.focus()
  }
  return (
    <fieldset className="plain">
      <legend style={{ marginBottom: 8 }}>Waits within it. The first of two that overlap keeps the time.</legend>
      {lines.map((line, index) => (
        <div key={line.key} className="item" role="group" aria-label={`Wait ${index + 1}`}>
          <Field label={`Wait ${index + 1}: for`}>
            {(id) => (
              <select id={id} name={`wait-${line.key}-reason`} defaultValue={line.known?.reason ?? 'part'}>
                {waitReasonSchema.options.map((reason) => (
                  <option key={reason} value={reason}>
                    {sayWait(reason)}
                  </option>
                ))}
              </select>
            )}
          </Field>
          <WallField
            name={`wait-${line.key}-from`}
            label={`Wait ${index + 1}: from`}
            zone={zone}
            instant={line.known?.fromAt ?? null}
            required
            fault={faultOf(line, 'fromAt')}
          />
          <WallField
            name={`wait-${line.key}-to`}
            label={`Wait ${index + 1}: to`}
            zone={zone}
            instant={line.known?.toAt ?? null}
            hint="Left empty: until work begins, or until it ends."
            fault={faultOf(line, 'toAt')}
          />
          <button type="button" className="small" aria-label={`Remove wait ${index + 1}`} onClick={() => remove(line)}>
            Remove
          </button>
        </div>
      ))}
      <button
        ref={add}
        type="button"
        className="small"
        disabled={lines.length >= MOST}
        onClick={() => onLines([...lines, { key: next, known: null }])}
      >
        Add a wait
      </button>
    </fieldset>
  )
}
