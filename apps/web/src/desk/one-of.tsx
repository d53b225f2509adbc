/** One of the closed answers about a stoppage, the known one chosen. */
import type { ReactNode } from 'react'
import { Field } from '../ui/parts.js'
import { sayChoice } from './stoppage-words.js'

export function OneOf({
  label,
  name,
  value,
  options,
}: {
  label: string
  name: string
  value: string
  options: readonly string[]
}): ReactNode {
  return (
    <Field label={label}>
      {(id) => (
        <select id={id} name={name} defaultValue={value}>
          {options.map((word) => (
            <option key={word} value={word}>
              {sayChoice(word)}
            </option>
          ))}
        </select>
      )}
    </Field>
  )
}
