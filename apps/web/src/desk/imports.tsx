/** Lists in and out: a file is chosen here; what was brought in before stands below. */
import { type FormEvent, type ReactNode, useState } from 'react'
import { Link, useNavigate, useSearchParams } from 'react-router'
import { type Answer, call, sendFile } from '../client/api.js'
import { sayCount, sayInstant } from '../ui/format.js'
import { More, useLongList } from '../ui/long-list.js'
import { Bones, Fault, Field, Heading } from '../ui/parts.js'
import { saveFile } from '../ui/save-file.js'
import { useMe } from './me.js'

type Import = Answer<'listImports'>['items'][number]
export const KINDS: Readonly<Record<Import['kind'], string>> = {
  warehouses: 'warehouses',
  stations: 'stations',
  machines: 'machines',
  components: 'components and when they were fitted',
  evidence: 'counter readings and strips a day',
  cartons: 'cartons a day by station',
  rolls: 'rolls used',
  taps: 'how much each runs, by month',
  service_history: 'care that was done before',
}
const LISTS = {
  ...KINDS,
  dates: 'dates',
  work_orders: 'work orders',
  stoppages: 'stoppages',
  parts: 'parts and stock',
  people: 'people',
} as const
export const STATES: Readonly<Record<Import['state'], string>> = {
  reading: 'being read',
  to_map: 'columns to be named',
  checking: 'dry run under way',
  checked: 'dry run done, nothing written yet',
  applying: 'being written',
  applied: 'written',
  cancelled: 'cancelled',
  failed: 'stopped by a fault',
  undone: 'undone',
}

export function Imports(): ReactNode {
  return (
    <>
      <Heading title="Lists in and out">Lists in and out</Heading>
      <ChooseFile />
      <Past />
      <TakeOut />
    </>
  )
}

function ChooseFile(): ReactNode {
  const navigate = useNavigate()
  const [search] = useSearchParams()
  const asked = search.get('kind') ?? 'machines'
  const [kind, setKind] = useState<Import['kind']>(asked in KINDS ? (asked as Import['kind']) : 'machines')
  const [error, setError] = useState<unknown>(null)
  const [busy, setBusy] = useState(false)
  const act = (doing: () => Promise<unknown>): void => {
    setBusy(true)
    setError(null)
    doing()
      .catch(setError)
      .finally(() => setBusy(false))
  }
  const send = (event: FormEvent<HTMLFormElement>): void => {
    event.preventDefault()
    const file = new FormData(event.currentTarget).get('file')
    if (!(file instanceof File)) return
    act(async () => {
      const read = await sendFile({ kind, fileName: file.name }, file)
      await navigate(`/imports/${read.id}`)
    })
  }
  const template = (format: 'csv' | 'xlsx') => (): void =>
    act(async () => saveFile(await call('importTemplate', { query: { kind, format } })))
  return (
    <form onSubmit={send}>
      <h2>Bring a list in</h2>
      <p>
        CSV or XLSX from your spreadsheet. First a dry run says row by row what would be new, changed, unchanged or refused; nothing is
        written before you say so.
      </p>
      {error ? <Fault error={error} /> : null}
      <Field label="What the list holds">
        {(id) => (
          <select id={id} value={kind} onChange={(event) => setKind(event.target.value as Import['kind'])}>
            {Object.entries(KINDS).map(([value, words]) => (
              <option key={value} value={value}>
                {words}
              </option>
            ))}
          </select>
        )}
      </Field>
      <p className="small">
        A template to fill in:{' '}
        <button type="button" className="small" disabled={busy} onClick={template('csv')}>
          CSV
        </button>{' '}
        <button type="button" className="small" disabled={busy} onClick={template('xlsx')}>
          XLSX
        </button>
      </p>
      <Field label="File" hint="Up to 256 MB as CSV, 20 MB as XLSX.">
        {(id) => (
          <input
            id={id}
            name="file"
            type="file"
            required
            accept=".csv,.tsv,.txt,.xlsx,text/csv,application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
          />
        )}
      </Field>
      <button className="main" disabled={busy}>
        {busy ? 'Reading …' : 'Read the file'}
      </button>
    </form>
  )
}

export function sayCounts({ counts, rowCount }: Import): string {
  const parts = [
    [counts.new, 'new'],
    [counts.changed, 'changed'],
    [counts.unchanged, 'unchanged'],
    [counts.refused, 'refused'],
  ].flatMap(([count, word]) => (count ? [`${count} ${word}`] : []))
  return parts.length === 0 ? sayCount(rowCount, 'row', 'rows') : `${sayCount(rowCount, 'row', 'rows')}: ${parts.join(', ')}`
}

function Past(): ReactNode {
  const me = useMe()
  const past = useLongList(['imports'], (from) => call('listImports', { query: { limit: 20, ...from } }))
  return (
    <section aria-labelledby="past">
      <h2 id="past">Brought in before</h2>
      {past.isPending ? <Bones lines={3} /> : null}
      {past.error ? <Fault error={past.error} again={() => void past.refetch()} /> : null}
      {past.data && past.items.length === 0 ? <p className="soft">Nothing yet.</p> : null}
      <ul className="plain sentences">
        {past.items.map((one) => (
          <li key={one.id}>
            <Link to={`/imports/${one.id}`}>{one.fileName}</Link>, {KINDS[one.kind]}: {STATES[one.state]}. {sayCounts(one)}.{' '}
            <span className="soft">
              {sayInstant(one.createdAt, me.warehouses[0]?.zone ?? 'UTC')}
              {one.personName ? `, ${one.personName}` : ''}
            </span>
          </li>
        ))}
      </ul>
      <More list={past} words="Older ones" />
    </section>
  )
}

function TakeOut(): ReactNode {
  const [list, setList] = useState<keyof typeof LISTS>('machines')
  const [error, setError] = useState<unknown>(null)
  const take = (format: 'csv' | 'xlsx'): void => {
    setError(null)
    call('exportList', { query: { list, format } }).then(saveFile, setError)
  }
  return (
    <section aria-labelledby="out">
      <h2 id="out">Take a list out</h2>
      <p>What can be brought in comes out in the same columns, so it can be changed in a spreadsheet and brought in again.</p>
      {error ? <Fault error={error} /> : null}
      <div className="row">
        <Field label="List">
          {(id) => (
            <select id={id} value={list} onChange={(event) => setList(event.target.value as keyof typeof LISTS)}>
              {Object.entries(LISTS).map(([value, words]) => (
                <option key={value} value={value}>
                  {words}
                </option>
              ))}
            </select>
          )}
        </Field>
        <button onClick={() => take('csv')}>As CSV</button>
        <button onClick={() => take('xlsx')}>As XLSX</button>
      </div>
    </section>
  )
}
