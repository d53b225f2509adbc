/** The measures: each with its value and limits, how it is made, from how many, what is left out, and the rows behind it; as a file too. */
import type { ReactNode } from 'react'
import { Link, useSearchParams } from 'react-router'
import type { Answer } from '../client/api.js'
import { sayNumber } from '../ui/format.js'
import { saveFile } from '../ui/save-file.js'
import { csvOf } from './review-file.js'

type Review = Answer<'review'>
type Measure = Review['measures'][number]

function said({ estimate, unit }: Measure): string {
  const { value, low, high, hiddenReason } = estimate
  if (value === null) return hiddenReason ?? 'not known'
  const [factor, digits, words] = unit === 'share' ? [100, 0, '%'] : [1, 1, unit]
  const one = (number: number): string => sayNumber(number * factor, digits)
  return `${one(value)} ${words}${low === null || high === null ? '' : `, between ${one(low)} and ${one(high)}`}`
}

/** What the list must be asked for, so that it holds exactly what a measure was made of. */
const ROWS: Readonly<Record<Measure['rows'], Readonly<Record<string, string>>>> = {
  all: { begun: 'true' },
  unplanned: { begun: 'true', planned: 'false' },
  unplanned_ended: { begun: 'true', planned: 'false', open: 'false' },
  care: { rows: 'care' },
}

/** The same period, warehouse and type, and the rows asked for. */
export function rowsAddress(search: URLSearchParams, rows: Readonly<Record<string, string>>): string {
  const next = new URLSearchParams(search)
  for (const key of ['open', 'planned', 'begun', 'machineId', 'rows']) next.delete(key)
  for (const [key, value] of Object.entries(rows)) next.set(key, value)
  return `/stoppages?${next.toString()}#rows`
}

export function Measures({ review }: { review: Review }): ReactNode {
  const [search] = useSearchParams()
  const rowsOf = (rows: Measure['rows']): string => rowsAddress(search, ROWS[rows])
  return (
    <details id="measures" style={{ marginTop: 16 }}>
      <summary>The measures and how each is made</summary>
      <div className="wide">
        <table className="stacked">
          <thead>
            <tr>
              <th>Measure</th>
              <th>Value, with 95 % limits</th>
              <th className="figure">n</th>
              <th>How</th>
              <th>Left out</th>
            </tr>
          </thead>
          <tbody>
            {review.measures.map((measure) => (
              <tr key={measure.key}>
                <td>
                  {measure.name}
                  <div>
                    <Link to={rowsOf(measure.rows)} aria-label={`Rows behind: ${measure.name}`}>
                      its rows
                    </Link>
                  </div>
                </td>
                <td className={measure.estimate.value === null ? 'soft' : undefined}>{said(measure)}</td>
                <td className="figure" data-label="n">
                  {measure.estimate.n}
                </td>
                <td>{measure.formula}</td>
                <td data-label="Left out">{measure.exclusions}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <div className="row no-print">
        <button onClick={() => saveFile(csvOf(review))}>Machines and measures as CSV</button>
        <button onClick={() => print()}>Print</button>
      </div>
    </details>
  )
}
