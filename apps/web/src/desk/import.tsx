/** One import: name the columns, look at the dry run, write it, take it back. Can be left and come back to at any time. */
import { useQuery, useQueryClient } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { Link, useParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayCount } from '../ui/format.js'
import { Bones, Fault, Heading, NoPage } from '../ui/parts.js'
import { saveFile } from '../ui/save-file.js'
import { MapColumns } from './import-map.js'
import { ImportRows } from './import-rows.js'
import { KINDS, sayCounts, STATES } from './imports.js'

export type ImportDetail = Answer<'getImport'>
const WORKING: ReadonlySet<ImportDetail['state']> = new Set(['reading', 'checking', 'applying'])

const OF_USE: ReadonlySet<ImportDetail['kind']> = new Set(['evidence', 'cartons', 'rolls', 'taps'])

export function OneImport(): ReactNode {
  const { importId = '' } = useParams()
  const found = useQuery({
    queryKey: ['import', importId],
    queryFn: () => call('getImport', { params: { importId } }),
    refetchInterval: ({ state }) => (state.data && WORKING.has(state.data.state) ? 700 : false),
  })
  if (found.isPending) return <Bones lines={10} />
  if (found.error) return <NoPage title="Import" error={found.error} again={() => void found.refetch()} />
  return <Page found={found.data} />
}

function Page({ found }: { found: ImportDetail }): ReactNode {
  const queries = useQueryClient()
  const [error, setError] = useState<unknown>(null)
  const [mapAgain, setMapAgain] = useState(false)
  const act = (doing: () => Promise<unknown>): void => {
    setError(null)
    doing()
      .then(() => queries.invalidateQueries())
      .catch(setError)
  }
  const params = { importId: found.id }
  const working = WORKING.has(found.state)
  return (
    <>
      <Heading title={`Import of ${found.fileName}`}>
        {found.fileName} <span className="soft">{KINDS[found.kind]}</span>
      </Heading>
      <p role="status">
        <span className="strong">{STATES[found.state]}.</span> {working ? '' : `${sayCounts(found)}.`} {found.problem}
      </p>
      {error ? <Fault error={error} /> : null}
      {working ? <Progress found={found} onCancel={() => act(() => call('cancelImport', { params }))} /> : null}
      {found.state === 'to_map' || mapAgain ? (
        <MapColumns
          found={found}
          onSend={(body) =>
            act(async () => {
              await call('mapImport', { params, body })
              setMapAgain(false)
            })
          }
        />
      ) : null}
      {found.state === 'checked' && !mapAgain ? <Decide found={found} act={act} onMapAgain={() => setMapAgain(true)} /> : null}
      {found.state === 'applied' ? <Written found={found} /> : null}
      {found.counts.applied > 0 && ['applied', 'cancelled', 'failed'].includes(found.state) ? (
        <p>
          <button onClick={() => act(() => call('undoImport', { params }))}>Undo this import</button>{' '}
          <span className="small soft">All of it, while nothing depends on it.</span>
        </p>
      ) : null}
      {found.state !== 'to_map' && found.state !== 'reading' && !mapAgain ? <ImportRows found={found} /> : null}
      <p>
        <Link to="/imports">All imports</Link>
      </p>
    </>
  )
}

function Progress({ found, onCancel }: { found: ImportDetail; onCancel: () => void }): ReactNode {
  return (
    <p>
      <progress max={Math.max(1, found.rowCount)} value={found.workedCount} aria-label="Rows done" /> {found.workedCount} of{' '}
      {sayCount(found.rowCount, 'row', 'rows')}. You can leave this page; the work goes on. <button onClick={onCancel}>Cancel</button>
    </p>
  )
}

function Decide({
  found,
  act,
  onMapAgain,
}: {
  found: ImportDetail
  act: (doing: () => Promise<unknown>) => void
  onMapAgain: () => void
}): ReactNode {
  const params = { importId: found.id }
  const good = found.counts.new + found.counts.changed
  const write = (how: 'good_rows' | 'all_or_nothing') => (): void => act(() => call('applyImport', { params, body: { how } }))
  return (
    <>
      <p>
        {good === 0 ? 'There is nothing to write. ' : ''}
        {found.counts.unchanged > 0 ? `${sayCount(found.counts.unchanged, 'row says', 'rows say')} what the books say already. ` : ''}
        {found.counts.refused > 0 ? 'Refused rows are listed below, each with how to put it right. ' : ''}
      </p>
      <div className="row">
        {good > 0 && found.counts.refused === 0 ? (
          <button className="main" onClick={write('all_or_nothing')}>
            Write {sayCount(good, 'row', 'rows')}
          </button>
        ) : null}
        {good > 0 && found.counts.refused > 0 ? (
          <button className="main" onClick={write('good_rows')}>
            Write the {good} good rows only
          </button>
        ) : null}
        {found.counts.refused > 0 ? (
          <button onClick={() => act(async () => saveFile(await call('refusedRows', { params })))}>
            The {found.counts.refused} refused rows as a file
          </button>
        ) : null}
        <button onClick={onMapAgain}>Name the columns anew</button>
        <button onClick={() => act(() => call('cancelImport', { params }))}>Cancel this import</button>
      </div>
    </>
  )
}

function Written({ found }: { found: ImportDetail }): ReactNode {
  return (
    <p className="note">
      {sayCount(found.counts.applied, 'row is', 'rows are')} in the books.{' '}
      {found.kind === 'machines' ? (
        <>
          Dates are being computed; nothing is late before its first look. <Link to="/machines">See the machines</Link>,{' '}
          <Link to="/coming-up">what falls due</Link>, or <Link to="/labels">print their labels</Link>.
        </>
      ) : null}
      {OF_USE.has(found.kind) ? (
        <>
          The dates follow. What does not go together with the rest of the books is <Link to="/evidence">set aside</Link> with its reason.
        </>
      ) : null}
    </p>
  )
}
