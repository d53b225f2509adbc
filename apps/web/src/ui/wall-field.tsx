/** A moment by the clocks of a warehouse: says where the clocks skip it, and asks which one is meant where it comes twice. */
import { type ReactNode, useEffect, useRef, useState } from 'react'
import { Field } from './parts.js'
import { instantsOf, wallOf } from './wall-time.js'

const SKIPPED = 'The clocks were set forward over this time: it was never shown. Take one before or after it.'

export function WallField({
  name,
  label,
  zone,
  instant,
  hint,
  fault,
  required = false,
}: {
  name: string
  label: string
  zone: string
  instant: string | null
  hint?: string | undefined
  fault?: string | undefined
  required?: boolean
}): ReactNode {
  const [wall, setWall] = useState(instant === null ? '' : wallOf(instant, zone))
  const input = useRef<HTMLInputElement>(null)
  const instants = instantsOf(wall, zone)
  const second = instant !== null && Date.parse(instant) >= Date.parse(instants[1] ?? '')
  const skipped = wall !== '' && instants.length === 0
  useEffect(() => input.current?.setCustomValidity(skipped ? SKIPPED : ''), [skipped])
  return (
    <>
      <Field label={label} hint={hint} fault={skipped ? SKIPPED : fault}>
        {(id) => (
          <input
            ref={input}
            id={id}
            name={name}
            type="datetime-local"
            required={required}
            value={wall}
            onChange={(event) => setWall(event.target.value)}
          />
        )}
      </Field>
      {instants.length > 1 ? (
        <Field label={`${label}: which of the two`} hint="The clocks were set back: this time came twice.">
          {(id) => (
            <select id={id} name={`${name}-which`} defaultValue={second ? '1' : '0'}>
              <option value="0">the first, before the clocks were set back</option>
              <option value="1">the second, after it</option>
            </select>
          )}
        </Field>
      ) : null}
    </>
  )
}
