/** A machine type in a few fields, where none fits yet. */
import type { ReactNode } from 'react'
import type { call } from '../client/api.js'
import { Field } from '../ui/parts.js'

export function typeOf(form: FormData): Parameters<typeof call<'createMachineType'>>[1] extends { body: infer B } | undefined ? B : never {
  return {
    name: String(form.get('typeName')),
    drive: form.get('supply') === 'none' ? 'hand' : 'electric',
    supply: form.get('supply') as 'cord_and_plug',
    heater: form.get('heater') === 'on',
    shortestStripMm: Number(form.get('shortest')),
    longestStripMm: Number(form.get('longest')),
    counterKind: form.get('counter') as 'none',
  }
}

export function TypeFields(): ReactNode {
  return (
    <>
      <Field label="Name of the type" hint="Your own name for it.">
        {(id) => <input id={id} name="typeName" required maxLength={200} />}
      </Field>
      <Field label="Supply">
        {(id) => (
          <select id={id} name="supply">
            <option value="cord_and_plug">cord and plug</option>
            <option value="wired_in">wired in</option>
            <option value="none">none: driven by hand</option>
          </select>
        )}
      </Field>
      <p>
        <label>
          <input type="checkbox" name="heater" style={{ minHeight: 0 }} /> It has a heater
        </label>
      </p>
      <Field label="Shortest strip" unit="mm">
        {(id) => <input id={id} name="shortest" inputMode="numeric" required defaultValue={150} />}
      </Field>
      <Field label="Longest strip" unit="mm">
        {(id) => <input id={id} name="longest" inputMode="numeric" required defaultValue={1200} />}
      </Field>
      <Field label="Counter">
        {(id) => (
          <select id={id} name="counter">
            <option value="none">none</option>
            <option value="strips">counts strips</option>
            <option value="metres">counts metres</option>
          </select>
        )}
      </Field>
    </>
  )
}
