/** Which column means what: guessed or remembered, changed by hand, with a look at the first values. */
import { type FormEvent, type ReactNode, useState } from 'react'
import type { Answer } from '../client/api.js'
import { Field } from '../ui/parts.js'
import { leftOut } from './import-left-out.js'

type ImportDetail = Answer<'getImport'>
type DateForm = NonNullable<ImportDetail['dateForm']>
type Mark = NonNullable<ImportDetail['decimalMark']>
interface Said {
  mapping: Record<string, number>
  dateForm: DateForm | null
  decimalMark: Mark | null
}
const FROM: Readonly<Record<ImportDetail['mappingFrom'], string>> = {
  guessed: 'Guessed from the headings. Look whether it is right.',
  remembered: 'As you named them the last time for these headings.',
  saved: 'As you named them.',
}

/** The first filled cells of a column, so that one sees what it holds. */
function examplesOf(found: ImportDetail, at: number): string {
  const cells = found.sample.flatMap((row) => (row[at]?.trim() ? [row[at].trim()] : []))
  return [...new Set(cells)].slice(0, 3).join(' · ')
}

function asks(found: ImportDetail, mapping: Readonly<Record<string, number>>, what: 'dates' | 'numbers'): boolean {
  const type = what === 'dates' ? 'date' : 'number'
  const says = found.fields.flatMap(({ key, type: of }) => {
    const at = of === type ? mapping[key] : undefined
    return at === undefined ? [] : [found.columns[at]?.[what] ?? null]
  })
  const known = new Set(says.filter((one) => one !== null && one !== 'ask'))
  // One column that proves a form speaks for the others; two that contradict each other do not.
  return says.includes('mixed') || known.size > 1 || (known.size === 0 && says.includes('ask'))
}

export function MapColumns({ found, onSend }: { found: ImportDetail; onSend: (said: Said) => void }): ReactNode {
  const [mapping, setMapping] = useState(found.mapping)
  const [dateForm, setDateForm] = useState<DateForm | ''>('')
  const [decimalMark, setDecimalMark] = useState<Mark | ''>('')
  const put = (key: string, at: string): void => {
    const { [key]: _old, ...rest } = mapping
    setMapping(at === '' ? rest : { ...rest, [key]: Number(at) })
  }
  const left = leftOut(found, mapping)
  const askDates = asks(found, mapping, 'dates')
  const askNumbers = asks(found, mapping, 'numbers')
  const send = (event: FormEvent): void => {
    event.preventDefault()
    onSend({ mapping, dateForm: askDates ? dateForm || null : null, decimalMark: askNumbers ? decimalMark || null : null })
  }
  return (
    <form onSubmit={send}>
      <h2>Name the columns</h2>
      <p className="soft">{FROM[found.mappingFrom]}</p>
      {found.fields.map(({ key, label, required, example }) => {
        const at = mapping[key]
        return (
          <Field
            key={key}
            label={required ? label : `${label} (if you have it)`}
            hint={at === undefined ? (example ? `Such as ${example}` : undefined) : examplesOf(found, at) || 'This column is empty.'}
          >
            {(id) => (
              <select id={id} value={at ?? ''} required={required} onChange={(event) => put(key, event.target.value)}>
                <option value="">{required ? 'choose a column' : 'not in this file'}</option>
                {found.headings.map((heading, index) => (
                  <option key={index} value={index}>
                    {heading || `column ${index + 1}, without a heading`}
                  </option>
                ))}
              </select>
            )}
          </Field>
        )
      })}
      {left === '' ? null : <p className="note">{left}</p>}
      {askDates ? (
        <Field label="How are dates written?" hint="They can be read in two ways, so this is not guessed.">
          {(id) => (
            <select id={id} value={dateForm} required onChange={(event) => setDateForm(event.target.value as DateForm)}>
              <option value="">choose</option>
              <option value="dmy">day first: 31.12.2026 or 31/12/2026</option>
              <option value="mdy">month first: 12/31/2026</option>
            </select>
          )}
        </Field>
      ) : null}
      {askNumbers ? (
        <Field label="What is 1,234?" hint="It can be read in two ways, so this is not guessed.">
          {(id) => (
            <select id={id} value={decimalMark} required onChange={(event) => setDecimalMark(event.target.value as Mark)}>
              <option value="">choose</option>
              <option value=".">decimal point: 1,234 is one thousand two hundred and thirty-four</option>
              <option value=",">decimal comma: 1,234 is a little more than one</option>
            </select>
          )}
        </Field>
      ) : null}
      <button className="main">Begin the dry run</button>
    </form>
  )
}
