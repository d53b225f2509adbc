/** How long blades, or another kind of part, last: what was seen and what is fitted, in strips or months; the parts behind; as a file. */
import { keepPreviousData, useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import { Link, useSearchParams } from 'react-router'
import { type Answer, call } from '../client/api.js'
import { sayDay, sayNumber, sayWord } from '../ui/format.js'
import { LifeChart } from '../ui/life-chart.js'
import { Bones, Fault } from '../ui/parts.js'
import { saveFile } from '../ui/save-file.js'
import { lifeFile } from './life-file.js'
import { useToday } from './me.js'

type Life = Answer<'lifeCurve'>
type Unit = Life['unit']
const UNITS: readonly Unit[] = ['strips', 'months']

export interface ReviewScope {
  warehouseId?: string
  machineTypeId?: string
}

export function LifeOfParts({ scope }: { scope: ReviewScope }): ReactNode {
  const [search, setSearch] = useSearchParams()
  const componentKey = search.get('part') ?? 'blade'
  const unit = UNITS.find((one) => one === search.get('unit'))
  const query = { componentKey, ...scope, ...(unit ? { unit } : {}) }
  const life = useQuery({
    queryKey: ['life-curve', query],
    queryFn: () => call('lifeCurve', { query }),
    placeholderData: keepPreviousData,
  })
  const change = (key: string, value: string): void => setSearch({ ...Object.fromEntries(search), [key]: value }, { replace: true })
  return (
    <section aria-labelledby="life">
      <h2 id="life">How long parts last</h2>
      {life.isPending ? <Bones lines={8} /> : null}
      {life.error ? <Fault error={life.error} again={() => void life.refetch()} /> : null}
      {life.data ? <Shown life={life.data} change={change} /> : null}
    </section>
  )
}

function Shown({ life, change }: { life: Life; change: (key: string, value: string) => void }): ReactNode {
  const { failuresByUnit } = life.counts
  return (
    <>
      <div className="row no-print">
        <div>
          <label htmlFor="part">Part</label>
          <select id="part" value={life.componentKey} onChange={(event) => change('part', event.target.value)}>
            {life.components.some(({ key }) => key === life.componentKey) ? null : (
              <option value={life.componentKey}>{life.componentName}</option>
            )}
            {life.components.map(({ key, name }) => (
              <option key={key} value={key}>
                {name}
              </option>
            ))}
          </select>
        </div>
        <div>
          <label htmlFor="life-unit">Age in</label>
          <select id="life-unit" value={life.unit} onChange={(event) => change('unit', event.target.value)}>
            {UNITS.map((unit) => (
              <option key={unit} value={unit}>
                {unit} ({failuresByUnit[unit]} failed)
              </option>
            ))}
          </select>
        </div>
      </div>
      {life.sentences.map((sentence) => (
        <p key={sentence}>{sentence}</p>
      ))}
      {life.hiddenReason === null ? (
        <LifeChart
          seen={life.seen}
          seenFrom={life.seenFrom}
          fitted={life.fit?.points ?? []}
          oldest={life.oldest}
          unit={life.unit}
          label={`${life.componentName}: share still good by age in ${life.unit}, ${life.counts.failures} failures among ${life.counts.parts}; the same as a table below`}
        />
      ) : null}
      {life.hiddenReason === null && life.noFitReason ? <p className="soft">No fitted curve: {life.noFitReason}</p> : null}
      <Parts life={life} />
    </>
  )
}

const COUNTED = { failed: 'failed', good_so_far: 'good so far', left_out: 'left out' } as const

function Parts({ life }: { life: Life }): ReactNode {
  const today = useToday()
  if (life.counts.onRecord === 0)
    return <p className="soft">Fit one on a machine’s page, or bring them in from a file: each counts from then on.</p>
  return (
    <details>
      <summary>The {sayNumber(life.counts.onRecord)} parts behind it, and how each counts</summary>
      <div className="wide">
        <table className="stacked">
          <thead>
            <tr>
              <th>Machine</th>
              <th>New on</th>
              <th>Taken out</th>
              <th className="figure">Months</th>
              <th className="figure">Strips</th>
              <th>Counts as</th>
            </tr>
          </thead>
          <tbody>
            {life.parts.map((part) => (
              <tr key={part.componentId}>
                <td>
                  <Link to={`/machines/${part.machineId}`}>{part.labelCode}</Link> <span className="soft">{part.typeName}</span>
                </td>
                <td data-label="New on">{part.newOn === null ? 'not known' : sayDay(part.newOn, today)}</td>
                <td data-label="Taken out">
                  {part.removedOn === null ? 'runs' : `${sayDay(part.removedOn, today)}, ${sayWord(part.removalReason ?? 'unknown')}`}
                </td>
                <td className="figure" data-label="Months">
                  {part.ageMonths === null ? '' : sayNumber(part.ageMonths, 1)}
                </td>
                <td className="figure" data-label="Strips">
                  {part.strips === null ? '' : sayNumber(part.strips)}
                </td>
                <td data-label="Counts as">
                  {COUNTED[part.counted]}
                  {part.leftOutReason ? <div className="soft small">{part.leftOutReason}</div> : null}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      {life.counts.onRecord > life.parts.length ? (
        <p className="soft small">
          {sayNumber(life.parts.length)} of {sayNumber(life.counts.onRecord)} shown, what failed first. The curve is of all.
        </p>
      ) : null}
      <div className="row no-print">
        <button onClick={() => saveFile(lifeFile(life))}>Curve and parts as CSV</button>
      </div>
    </details>
  )
}
