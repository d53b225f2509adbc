/** Row by row what would become, or became, of a file; the refused ones first. */
import { useInfiniteQuery } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import { type Answer, call } from '../client/api.js'
import { Bones, Fault } from '../ui/parts.js'

type ImportDetail = Answer<'getImport'>
type Row = Answer<'listImportRows'>['items'][number]
type Outcome = NonNullable<Row['outcome']>
const OUTCOMES: readonly Outcome[] = ['refused', 'new', 'changed', 'unchanged']

export function ImportRows({ found }: { found: ImportDetail }): ReactNode {
  const there = OUTCOMES.filter((outcome) => found.counts[outcome] > 0)
  const [asked, setAsked] = useState<Outcome | null>(null)
  const outcome = asked ?? there[0] ?? 'refused'
  const rows = useInfiniteQuery({
    queryKey: ['import-rows', found.id, found.state, outcome],
    initialPageParam: '',
    queryFn: ({ pageParam }) =>
      call('listImportRows', {
        params: { importId: found.id },
        query: { outcome, limit: 50, ...(pageParam ? { cursor: pageParam } : {}) },
      }),
    getNextPageParam: (page) => page.nextCursor,
  })
  if (there.length === 0) return null
  return (
    <section aria-labelledby="rows">
      <h2 id="rows">Row by row</h2>
      <div className="row no-print">
        {there.map((one) => (
          <button key={one} aria-pressed={one === outcome} onClick={() => setAsked(one)}>
            {found.counts[one]} {one}
          </button>
        ))}
      </div>
      {rows.isPending ? <Bones lines={5} /> : null}
      {rows.error ? <Fault error={rows.error} /> : null}
      <Table found={found} rows={rows.data?.pages.flatMap(({ items }) => items) ?? []} />
      {rows.hasNextPage ? <button onClick={() => void rows.fetchNextPage()}>Show more</button> : null}
    </section>
  )
}

function Table({ found, rows }: { found: ImportDetail; rows: readonly Row[] }): ReactNode {
  if (rows.length === 0) return null
  const columns = [...new Set(Object.values(found.mapping))].sort((a, b) => a - b).slice(0, 5)
  const refused = rows.some(({ faults }) => faults.length > 0)
  return (
    <div className="wide">
      <table className="stacked">
        <thead>
          <tr>
            <th className="figure">Line</th>
            {refused ? <th>What is wrong, and how to put it right</th> : null}
            {columns.map((at) => (
              <th key={at}>{found.headings[at]}</th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map(({ line, cells, faults }) => (
            <tr key={line}>
              <td className="figure" data-label="Line">
                {line}
              </td>
              {refused ? (
                <td>
                  {faults.map(({ column, value, problem, remedy }) => (
                    <div key={column + problem}>
                      <span className="strong">{column}</span>: {value ? `‘${value}’ ` : ''}
                      {problem} {remedy}
                    </div>
                  ))}
                </td>
              ) : null}
              {columns.map((at) => (
                <td key={at} data-label={found.headings[at]}>
                  {cells[at]}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  )
}
