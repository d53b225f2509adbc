/** Pictures of a machine's use and wear, and of the coming weeks: labelled axes, ranges as bands, a table behind each. */
import type { ReactNode } from 'react'
import { sayLength, sayNumber, sayTick } from './format.js'
import { lengthInMm } from './lengths.js'

const DAY_MS = 86_400_000
const dayNumber = (date: string): number => Date.parse(`${date}T00:00:00Z`) / DAY_MS
const monthName = new Intl.DateTimeFormat('en', { timeZone: 'UTC', month: 'short', year: '2-digit' })

interface Box {
  width: number
  height: number
  left: number
  bottom: number
  top: number
}
const BOX: Box = { width: 760, height: 240, left: 56, bottom: 34, top: 24 }

function months(from: number, to: number): { day: number; name: string }[] {
  const out: { day: number; name: string }[] = []
  const start = new Date(from * DAY_MS)
  for (let index = 1; index < 60; index++) {
    const at = Date.UTC(start.getUTCFullYear(), start.getUTCMonth() + index, 1)
    if (at / DAY_MS > to) break
    out.push({ day: at / DAY_MS, name: monthName.format(at) })
  }
  const step = Math.ceil(out.length / 8)
  return out.filter((_, index) => index % step === 0)
}

/** Room that the name of a month takes, on a phone, too. */
const MONTH_WIDE = 64

const niceStep = (top: number): number => {
  const raw = top / 4
  const power = 10 ** Math.floor(Math.log10(Math.max(1e-9, raw)))
  return ([1, 2, 5, 10].find((factor) => factor * power >= raw) ?? 10) * power
}

function Axes({
  from,
  to,
  low,
  high,
  unit,
  x,
  y,
}: {
  from: number
  to: number
  low: number
  high: number
  unit: string
  x: (day: number) => number
  y: (value: number) => number
}): ReactNode {
  const step = niceStep(high - low)
  const ticks: number[] = []
  for (let value = Math.ceil(low / step) * step; value <= high + 1e-9; value += step) ticks.push(value)
  return (
    <g>
      {ticks.map((value) => (
        <g key={value}>
          <line className="axis" x1={BOX.left} x2={BOX.width} y1={y(value)} y2={y(value)} />
          <text x={BOX.left - 6} y={y(value) + 4} textAnchor="end">
            {sayTick(value, step < 0.1 ? 2 : 1)}
          </text>
        </g>
      ))}
      <text x={0} y={17}>
        {unit}
      </text>
      {months(from, to)
        .filter(({ day }) => x(day) < BOX.width - MONTH_WIDE)
        .map(({ day, name }) => (
          <text key={day} x={x(day)} y={BOX.height - 8}>
            {name}
          </text>
        ))}
    </g>
  )
}

export interface UsePoint {
  day: string
  strips: number
  kind: string
}

/** Counted is full, told by another system is lighter, guessed by a tap is an outline. */
const STYLES: Readonly<Record<string, string>> = { counter: 'deep', strips: 'deep', cartons: 'range', rolls: 'range', tap: 'guess' }

/** Strips a week as columns; peaks and closures shaded; what the evidence was said in the table behind. */
export function UseChart({
  days,
  peaks,
  label,
}: {
  days: UsePoint[]
  peaks: { fromDate: string; toDate: string; name: string }[]
  label: string
}): ReactNode {
  if (days.length === 0)
    return <p className="soft">Nothing is known of its use yet. One counter reading, or one tap a month, is enough to begin.</p>
  const weeks = new Map<number, { strips: number; kinds: Set<string> }>()
  for (const { day, strips, kind } of days) {
    const week = Math.floor((dayNumber(day) + 3) / 7)
    const entry = weeks.get(week) ?? { strips: 0, kinds: new Set() }
    entry.strips += strips
    entry.kinds.add(kind)
    weeks.set(week, entry)
  }
  const list = [...weeks].sort(([a], [b]) => a - b)
  const from = (list[0]?.[0] ?? 0) * 7 - 3
  const to = (list.at(-1)?.[0] ?? 0) * 7 + 4
  const high = Math.max(1, ...list.map(([, { strips }]) => strips))
  const x = (day: number): number => BOX.left + ((day - from) / (to - from || 1)) * (BOX.width - BOX.left)
  const y = (value: number): number => BOX.top + (1 - value / high) * (BOX.height - BOX.top - BOX.bottom)
  const wide = Math.max(1, x(from + 7) - x(from) - 1)
  return (
    <figure className="drawn">
      <svg viewBox={`0 0 ${BOX.width} ${BOX.height}`} role="img" aria-label={label}>
        {peaks
          .filter(({ fromDate, toDate }) => dayNumber(toDate) >= from && dayNumber(fromDate) <= to)
          .map(({ fromDate, toDate, name }) => {
            const [left, right] = [x(Math.max(from, dayNumber(fromDate))), x(Math.min(to, dayNumber(toDate) + 1))]
            return (
              <g key={fromDate}>
                <rect
                  className="shaded"
                  x={left}
                  width={Math.max(1, right - left)}
                  y={BOX.top}
                  height={BOX.height - BOX.top - BOX.bottom}
                />
                <text x={left > BOX.width - 80 ? BOX.width : left + 3} textAnchor={left > BOX.width - 80 ? 'end' : 'start'} y={BOX.top - 7}>
                  {name}
                </text>
              </g>
            )
          })}
        <Axes from={from} to={to} low={0} high={high} unit="strips a week" x={x} y={y} />
        {list.map(([week, { strips, kinds }]) => (
          <rect
            key={week}
            className={STYLES[[...kinds].find((kind) => kind in STYLES) ?? ''] ?? 'range'}
            x={x(week * 7 - 3)}
            width={wide}
            y={y(strips)}
            height={y(0) - y(strips)}
          />
        ))}
      </svg>
      <figcaption className="small soft">
        Full: counted. Lighter: worked out from cartons or rolls. Outline: from one tap a month. Shaded: peaks.
      </figcaption>
      <details className="small">
        <summary>The same as a table</summary>
        <table>
          <thead>
            <tr>
              <th>Week from</th>
              <th className="figure">Strips</th>
              <th>Known by</th>
            </tr>
          </thead>
          <tbody>
            {list.map(([week, { strips, kinds }]) => (
              <tr key={week}>
                <td className="whole">{new Date((week * 7 - 3) * DAY_MS).toISOString().slice(0, 10)}</td>
                <td className="figure">{sayNumber(strips)}</td>
                <td>{[...kinds].join(', ')}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </details>
    </figure>
  )
}

export interface WearPoint {
  on: string
  lengthMm: number
  name: string
}

/** Brush lengths as measured, both limits as lines, and the forecast crossing of the plan limit as a band of days. */
export function WearChart({
  points,
  planMm,
  neverBelowMm,
  newMm,
  newOn,
  due,
  units,
}: {
  points: WearPoint[]
  planMm: number
  neverBelowMm: number
  newMm: number
  newOn: string | null
  due: { earlyOn: string | null; likelyOn: string | null; lateOn: string | null; noLaterThan: string | null } | null
  units: 'si' | 'us'
}): ReactNode {
  const dates = [
    ...points.map(({ on }) => on),
    ...(newOn ? [newOn] : []),
    ...[due?.earlyOn, due?.likelyOn, due?.lateOn, due?.noLaterThan].filter((date): date is string => typeof date === 'string'),
  ]
  if (dates.length === 0) return <p className="soft">Not measured yet, and the day on which this set was fitted is not known.</p>
  const unit = units === 'us' ? 'in' : 'mm'
  const mmPerUnit = lengthInMm(1, unit)
  const from = Math.min(...dates.map(dayNumber)) - 10
  const to = Math.max(...dates.map(dayNumber)) + 20
  const [low, high] = [
    Math.min(neverBelowMm - 1, ...points.map(({ lengthMm }) => lengthMm)),
    Math.max(newMm + 0.5, ...points.map(({ lengthMm }) => lengthMm)),
  ]
  const x = (day: number): number => BOX.left + ((day - from) / (to - from || 1)) * (BOX.width - BOX.left)
  const y = (value: number): number => BOX.top + ((high - value) / (high - low)) * (BOX.height - BOX.top - BOX.bottom)
  const last = points.reduce<WearPoint | null>((best, point) => (best === null || point.on >= best.on ? point : best), null)
  return (
    <figure className="drawn">
      <svg
        viewBox={`0 0 ${BOX.width} ${BOX.height}`}
        role="img"
        aria-label={`Brush lengths: ${points.length} measurements, replaced at ${sayLength(planMm, units)}, never below ${sayLength(neverBelowMm, units)}.`}
      >
        {last && due?.earlyOn && due.lateOn ? (
          <path
            className="fan"
            d={`M${x(dayNumber(last.on))} ${y(last.lengthMm)} L${x(dayNumber(due.earlyOn))} ${y(planMm)} L${x(dayNumber(due.lateOn))} ${y(planMm)} Z`}
          />
        ) : null}
        {due?.noLaterThan ? (
          <g>
            <line
              className="ink"
              strokeDasharray="2 3"
              x1={x(dayNumber(due.noLaterThan))}
              x2={x(dayNumber(due.noLaterThan))}
              y1={BOX.top}
              y2={BOX.height - BOX.bottom}
            />
            <text x={x(dayNumber(due.noLaterThan)) - 4} y={BOX.top + 24} textAnchor="end">
              no later than
            </text>
          </g>
        ) : null}
        <Axes from={from} to={to} low={low / mmPerUnit} high={high / mmPerUnit} unit={unit} x={x} y={(value) => y(value * mmPerUnit)} />
        {[
          [planMm, 'replace at'],
          [neverBelowMm, 'never below'],
        ].map(([value, name]) => (
          <g key={String(name)}>
            <line className="limit" x1={BOX.left} x2={BOX.width} y1={y(Number(value))} y2={y(Number(value))} />
            <text x={BOX.width} y={y(Number(value)) - 4} textAnchor="end">
              {name} {sayLength(Number(value), units)}
            </text>
          </g>
        ))}
        {last && due?.likelyOn ? (
          <line
            className="line"
            x1={x(dayNumber(last.on))}
            y1={y(last.lengthMm)}
            x2={x(dayNumber(due.likelyOn))}
            y2={y(planMm)}
            strokeDasharray="6 4"
          />
        ) : null}
        {newOn ? <circle className="dot" cx={x(dayNumber(newOn))} cy={y(newMm)} r={3} fillOpacity={0.4} /> : null}
        {points.map(({ on, lengthMm, name }) => (
          <circle key={`${on}${name}`} className="dot" cx={x(dayNumber(on))} cy={y(lengthMm)} r={4} />
        ))}
      </svg>
      <figcaption className="small soft">
        Dots: measured, the shorter edge counts. Wedge: from the last measurement to the days between which the plan limit is forecast to be
        reached (10 % to 90 %).
      </figcaption>
      <details className="small">
        <summary>The same as a table</summary>
        <table>
          <thead>
            <tr>
              <th>Measured on</th>
              <th>Brush</th>
              <th className="figure">{unit}</th>
            </tr>
          </thead>
          <tbody>
            {points.map(({ on, lengthMm, name }) => (
              <tr key={`${on}${name}`}>
                <td className="whole">{on}</td>
                <td>{name}</td>
                <td className="figure">{sayNumber(lengthMm / mmPerUnit, units === 'us' ? 3 : 1)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </details>
    </figure>
  )
}
