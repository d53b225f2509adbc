/** The share still good by age: what was seen as steps, the fitted curve as a line, both with limits; a table behind. */
import type { ReactNode } from 'react'
import { sayNumber, sayTick } from './format.js'
import { Figures } from './parts.js'

export interface LifePoint {
  age: number
  stillGood: number
  low: number | null
  high: number | null
}
export interface SeenPoint extends LifePoint {
  atRisk: number
  failed: number
}

const BOX = { width: 760, height: 320, left: 56, right: 12, top: 42, bottom: 50 }
const STEPS = [1, 2, 2.5, 5, 10]

function ticksTo(top: number): number[] {
  const raw = top / 5
  const power = 10 ** Math.floor(Math.log10(raw))
  const step = (STEPS.find((factor) => factor * power >= raw) ?? 10) * power
  return Array.from({ length: Math.floor(top / step + 1e-9) + 1 }, (_, index) => index * step)
}

type Place = (value: number) => number
interface Scale {
  x: Place
  y: Place
}

const at = ({ x, y }: Scale, age: number, share: number): string => `${x(age).toFixed(1)} ${y(share).toFixed(1)}`

/** Level until the next age, then down. */
function stepsOf(scale: Scale, from: number, oldest: number, rows: readonly { age: number; share: number }[]): string {
  let path = `M${at(scale, from, 1)}`
  let last = 1
  for (const { age, share } of rows) {
    path += ` L${at(scale, age, last)} L${at(scale, age, share)}`
    last = share
  }
  return `${path} L${at(scale, oldest, last)}`
}

function bandOf(scale: Scale, points: readonly LifePoint[]): string {
  const upper = points.map(({ age, high }) => at(scale, age, high ?? 1))
  const lower = points.map(({ age, low }) => at(scale, age, low ?? 0)).reverse()
  return `M${at(scale, 0, 1)} L${upper.join(' L')} L${lower.join(' L')} Z`
}

function Frame({ oldest, unit, x, y }: Scale & { oldest: number; unit: string }): ReactNode {
  return (
    <g>
      {[0, 0.25, 0.5, 0.75, 1].map((share) => (
        <g key={share}>
          <line className="axis" x1={BOX.left} x2={BOX.width - BOX.right} y1={y(share)} y2={y(share)} />
          <text x={BOX.left - 6} y={y(share) + 4} textAnchor="end">
            {share * 100}
          </text>
        </g>
      ))}
      {ticksTo(oldest).map((age) => (
        <text key={age} x={x(age)} y={BOX.height - BOX.bottom + 18} textAnchor={x(age) > BOX.width - 40 ? 'end' : 'middle'}>
          {sayTick(age)}
        </text>
      ))}
      <text x={0} y={17}>
        % still good
      </text>
      <text x={BOX.width - BOX.right} y={BOX.height - 6} textAnchor="end">
        age, {unit}
      </text>
    </g>
  )
}

export function LifeChart({
  seen,
  seenFrom,
  fitted,
  oldest,
  unit,
  label,
}: {
  seen: SeenPoint[]
  seenFrom: number
  fitted: LifePoint[]
  oldest: number
  unit: string
  label: string
}): ReactNode {
  const scale: Scale = {
    x: (age) => BOX.left + (age / (oldest || 1)) * (BOX.width - BOX.left - BOX.right),
    y: (share) => BOX.top + (1 - share) * (BOX.height - BOX.top - BOX.bottom),
  }
  const steps = (of: (row: SeenPoint) => number | null): string =>
    stepsOf(
      scale,
      seenFrom,
      oldest,
      seen.flatMap((row) => {
        const share = of(row)
        return share === null ? [] : [{ age: row.age, share }]
      }),
    )
  return (
    <figure className="drawn" style={{ maxWidth: BOX.width }}>
      <svg viewBox={`0 0 ${BOX.width} ${BOX.height}`} role="img" aria-label={label}>
        {fitted.length > 0 ? <path className="fan" d={bandOf(scale, fitted)} /> : null}
        <Frame {...scale} oldest={oldest} unit={unit} />
        {seen.length > 0 ? (
          <g fill="none">
            <path className="ink" strokeDasharray="2 4" d={steps(({ low }) => low)} />
            <path className="ink" strokeDasharray="2 4" d={steps(({ high }) => high)} />
            <path className="ink" strokeWidth={2} d={steps(({ stillGood }) => stillGood)} />
          </g>
        ) : null}
        {fitted.length > 0 ? (
          <path
            className="line"
            strokeDasharray="8 4"
            d={`M${at(scale, 0, 1)} L${fitted.map(({ age, stillGood }) => at(scale, age, stillGood)).join(' L')}`}
          />
        ) : null}
      </svg>
      <figcaption className="small soft">
        Steps: what was seen, with 95 % limits dotted.
        {fitted.length > 0 ? ' Broken line and band: the fitted curve with its 95 % limits.' : ''} Drawn to the oldest part seen, no
        further.
      </figcaption>
      <LifeTable seen={seen} unit={unit} />
    </figure>
  )
}

const percent = (share: number | null): string => (share === null ? '' : sayNumber(100 * share, 1))

function LifeTable({ seen, unit }: { seen: SeenPoint[]; unit: string }): ReactNode {
  return (
    <details className="small">
      <summary>The same as a table</summary>
      <Figures>
        <table>
          <thead>
            <tr>
              <th className="figure">Age, {unit}</th>
              <th className="figure">Watched</th>
              <th className="figure">Failed</th>
              <th className="figure">Still good, %</th>
              <th className="figure">from</th>
              <th className="figure">to</th>
            </tr>
          </thead>
          <tbody>
            {seen.map((row) => (
              <tr key={row.age}>
                <td className="figure">{sayNumber(row.age, unit === 'months' ? 1 : 0)}</td>
                <td className="figure">{row.atRisk}</td>
                <td className="figure">{row.failed}</td>
                <td className="figure">{percent(row.stillGood)}</td>
                <td className="figure">{percent(row.low)}</td>
                <td className="figure">{percent(row.high)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Figures>
    </details>
  )
}
