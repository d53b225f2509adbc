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

export function Measures({ review }: { review: Review }): ReactNode {
  const [search] = useSearchParams()
  const rowsOf = (rows: NonNullable<Measure['rows']>): string => {
    const next = new URLSearchParams(search)
    next.delete('open')
    next.delete('planned')
    if (rows !== 'all') next.set('planned', String(rows === 'planned'))
    return `/stoppages?${next.toString()}#rows`
  }
  return (
    <details style={{ marginTop: 16 }}>
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
                  {measure.rows === null ? null : (
                    <div>
                      <Link to={rowsOf(measure.rows)} aria-label={`Rows behind: ${measure.name}`}>
                        its rows
                      </Link>
                    </div>
                  )}
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
