/** What is known of a machine type, as fields of a form and back. Lengths in the reader's unit; what was not touched stays to the last digit. */
import type { ReactNode } from 'react'
import type { Answer } from '../client/api.js'
import { LENGTH_PATTERN, type LengthUnit, shownLength, typedLength } from '../ui/lengths.js'
import { Field } from '../ui/parts.js'
import type { Words } from './record-change.js'

export type MachineType = Answer<'getMachineType'>
type Spec<Key> = readonly [key: Key, label: string, hint: string]
/** The hint, or how many mm are assumed where it is left empty. */
type LengthSpec = readonly [key: LengthKey, label: string, hint: string | number]
type LengthKey = (typeof STRIPS | typeof BRUSHES)[number][0]
type NumberKey = (typeof USE | typeof BRUSH_USE)[number][0]
type ChoiceKey = keyof typeof CHOICES
type FlagKey = (typeof FLAGS)[number][0]
export type Fields = Pick<MachineType, 'name' | 'lengthKeysMm' | LengthKey | NumberKey | ChoiceKey | FlagKey>

const CHOICES = {
  drive: ['Drive', { electric: 'electric', hand: 'by hand' }],
  supply: ['Supply', { cord_and_plug: 'cord and plug', wired_in: 'wired in', none: 'none: driven by hand' }],
  counterKind: ['Counter', { none: 'none', strips: 'counts strips', metres: 'counts metres' }],
  bladeLifeUnit: ['How a blade ages', { years: 'by years', strips: 'by strips cut' }],
} as const
const FLAGS = [
  ['heater', 'It has a heater'],
  ['feltBehindCover', 'The blade felt is behind a cover'],
  ['freeLength', 'Any length can be typed, beside the keys'],
] as const
const STRIPS = [
  ['shortestStripMm', 'Shortest strip', ''],
  ['longestStripMm', 'Longest strip', ''],
  ['meanStripMm', 'Mean strip', 'Left empty: half-way between the shortest and the longest.'],
  ['tapeWidthMm', 'Tape width', 'Left empty: not known.'],
  ['stripToleranceMm', 'How far a strip may be off', 'Left empty: strips that are measured are written down and not judged.'],
] as const
const BRUSHES = [
  ['brushNewMm', 'A new motor brush', 16],
  ['brushPlanLimitMm', 'Motor brushes are replaced at', 9.5],
  ['brushNeverBelowMm', 'Motor brushes never below', 6.4],
] as const
const USE = [
  ['usualStripsPerDay', 'Usual strips a day', 'Of one machine that runs all day. Left empty: 500 are assumed.'],
  ['mostStripsPerMinute', 'Most strips a minute', 'More than that is set aside as a mistake. Left empty: 60 are assumed.'],
  ['feedSpeedMPerMin', 'Metres of tape a minute', 'Left empty: not known, and motor minutes are not counted.'],
  ['startUpSecondsPerStrip', 'Seconds of start-up a strip', 'Left empty: 0.2 are assumed.'],
  ['counterModulus', 'The counter rolls over at', 'The first number that it cannot show, such as 1000000. Left empty: never.'],
] as const
const BRUSH_USE = [
  ['stripsFromNewToPlanLimit', 'Strips from a new motor brush to its limit', 'Left empty: 1 000 000 are assumed.'],
] as const
const LENGTHS: readonly LengthSpec[] = [...STRIPS, ...BRUSHES]
const NUMBERS: readonly Spec<NumberKey>[] = [...USE, ...BRUSH_USE]

const sayAll = (all: readonly number[], unit: LengthUnit): string => all.map((mm) => shownLength(mm, unit)).join('; ')

export function fieldsOf(form: FormData, opened: MachineType, unit: LengthUnit): Fields {
  const text = (key: string): string => String(form.get(key) ?? '').trim()
  const lengths = LENGTHS.map(([key]) => [key, typedLength(text(key), opened[key], unit)])
  const keys = text('lengthKeysMm')
  const typedKeys = keys.split(';').flatMap((one) => typedLength(one, null, unit) ?? [])
  return {
    name: text('name'),
    lengthKeysMm: keys === sayAll(opened.lengthKeysMm, unit) ? opened.lengthKeysMm : typedKeys,
    ...(Object.fromEntries(lengths) as Pick<MachineType, LengthKey>),
    ...(Object.fromEntries(NUMBERS.map(([key]) => [key, text(key) === '' ? null : Number(text(key))])) as Pick<MachineType, NumberKey>),
    ...(Object.fromEntries(Object.keys(CHOICES).map((key) => [key, text(key)])) as Pick<MachineType, ChoiceKey>),
    ...(Object.fromEntries(FLAGS.map(([key]) => [key, form.get(key) === 'on'])) as Pick<MachineType, FlagKey>),
  }
}

const yesNo = (is: boolean): string => (is ? 'yes' : 'no')
export function wordsIn(unit: LengthUnit): Words<Fields> {
  const length = (mm: number | null): string => (mm === null ? 'not said' : `${shownLength(mm, unit)} ${unit}`)
  const number = (value: number | null): string => (value === null ? 'not said' : String(value))
  const words = (of: Readonly<Record<string, string>>) => (value: string) => of[value] ?? value
  return {
    name: ['Name', (name: string) => name],
    lengthKeysMm: ['Length keys', (all: number[]) => sayAll(all, unit) || 'none'],
    ...Object.fromEntries(LENGTHS.map(([key, label]) => [key, [label, length]])),
    ...Object.fromEntries(NUMBERS.map(([key, label]) => [key, [label, number]])),
    ...Object.fromEntries(Object.entries(CHOICES).map(([key, [label, of]]) => [key, [label, words(of)]])),
    ...Object.fromEntries(FLAGS.map(([key, label]) => [key, [label, yesNo]])),
  }
}

const EXAMPLE = { mm: '150; 500; 1150', in: '6; 20; 45 1/4' } as const

export function TypeFields({ type, unit }: { type: MachineType; unit: LengthUnit }): ReactNode {
  return (
    <>
      <Field label="Name of the type" hint="Your own name for it.">
        {(id) => <input id={id} name="name" required maxLength={200} defaultValue={type.name} />}
      </Field>
      {(Object.keys(CHOICES) as ChoiceKey[]).map((key) => (
        <Field key={key} label={CHOICES[key][0]}>
          {(id) => (
            <select id={id} name={key} defaultValue={type[key]}>
              {Object.entries(CHOICES[key][1]).map(([value, words]) => (
                <option key={value} value={value}>
                  {words}
                </option>
              ))}
            </select>
          )}
        </Field>
      ))}
      {FLAGS.map(([key, label]) => (
        <label key={key} className="box">
          <input type="checkbox" name={key} defaultChecked={type[key]} /> {label}
        </label>
      ))}
      <h3>Its work</h3>
      <Numbers of={USE} type={type} />
      <h3>Its strips</h3>
      <Lengths of={STRIPS} type={type} unit={unit} />
      <Field label="Length keys" unit={unit} hint={`Each with a semicolon after it: ${EXAMPLE[unit]}. Left empty: none.`}>
        {(id) => (
          <input
            id={id}
            name="lengthKeysMm"
            pattern={`${LENGTH_PATTERN}(; *${LENGTH_PATTERN})*;?`}
            title={`Lengths such as ${EXAMPLE[unit]}`}
            defaultValue={sayAll(type.lengthKeysMm, unit)}
          />
        )}
      </Field>
      <h3>Its motor brushes</h3>
      <Lengths of={BRUSHES} type={type} unit={unit} />
      <Numbers of={BRUSH_USE} type={type} />
    </>
  )
}

function Numbers({ of, type }: { of: readonly Spec<NumberKey>[]; type: MachineType }): ReactNode {
  return of.map(([key, label, hint]) => (
    <Field key={key} label={label} hint={hint}>
      {(id) => <input id={id} name={key} type="number" inputMode="decimal" min="0" step="any" defaultValue={type[key] ?? ''} />}
    </Field>
  ))
}

const sayHint = (hint: string | number, unit: LengthUnit): string | undefined =>
  typeof hint === 'number' ? `Left empty: ${shownLength(hint, unit)} ${unit} is assumed.` : hint || undefined

function Lengths({ of, type, unit }: { of: readonly LengthSpec[]; type: MachineType; unit: LengthUnit }): ReactNode {
  return of.map(([key, label, hint]) => (
    <Field key={key} label={label} unit={unit} hint={sayHint(hint, unit)}>
      {(id) => (
        <input
          id={id}
          name={key}
          inputMode="decimal"
          required={hint === ''}
          pattern={LENGTH_PATTERN}
          title="A length such as 9.5 or 3/8"
          defaultValue={shownLength(type[key], unit)}
        />
      )}
    </Field>
  ))
}
