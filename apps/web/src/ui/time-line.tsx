/** A time line of several lanes: spans as bars with their words, moments as marks; months below. */
import type { ReactNode } from 'react'

const DAY_MS = 86_400_000
const dayNumber = (date: string): number => Date.parse(`${date}T00:00:00Z`) / DAY_MS
const monthName = new Intl.DateTimeFormat('en', { timeZone: 'UTC', month: 'short', year: '2-digit' })

export interface Lane {
  name: string
  spans: { from: string; to: string; words: string }[]
  marks: { on: string; words: string }[]
}

const WIDTH = 760
const LEFT = 104
const LANE = 28
/** Room that a letter takes, so that words longer than their bar are left out. */
const LETTER = 7

export function TimeLine({ from, to, lanes, label }: { from: string; to: string; lanes: Lane[]; label: string }): ReactNode {
  const [start, end] = [dayNumber(from), dayNumber(to)]
  const x = (date: string): number =>
    LEFT + (Math.max(0, Math.min(end, dayNumber(date)) - start) / Math.max(1, end - start)) * (WIDTH - LEFT - 8)
  const height = lanes.length * LANE + 26
  return (
    // oxlint-disable-next-line jsx-a11y/no-noninteractive-tabindex -- what scrolls must be reached by the keyboard
    <figure className="drawn" role="group" aria-label="As a picture; the arrow keys move it" tabIndex={0}>
      <svg viewBox={`0 0 ${WIDTH} ${height}`} role="img" aria-label={label}>
        {lanes.map((lane, index) => (
          <LaneRow key={lane.name} lane={lane} top={index * LANE} x={x} from={from} />
        ))}
        {quarters(start, end).map(({ day, name }) => {
          const at = x(new Date(day * DAY_MS).toISOString().slice(0, 10))
          // A name at the very end would be cut.
          const named = at < WIDTH - 64
          return (
            <g key={day}>
              <line className="axis" x1={at} x2={at} y1={0} y2={lanes.length * LANE} />
              {named ? (
                <text x={at} y={height - 6}>
                  {name}
                </text>
              ) : null}
            </g>
          )
        })}
      </svg>
    </figure>
  )
}

function LaneRow({ lane, top, x, from }: { lane: Lane; top: number; x: (date: string) => number; from: string }): ReactNode {
  const middle = top + LANE / 2
  return (
    <g>
      <text x={0} y={middle + 4}>
        {lane.name}
      </text>
      <line className="axis" x1={LEFT} x2={WIDTH} y1={top + LANE - 1} y2={top + LANE - 1} />
      {lane.spans
        .filter(({ to }) => to >= from)
        .map(({ from: begin, to, words }) => {
          const [left, right] = [x(begin), x(to)]
          return (
            <g key={`${begin}${words}`}>
              <title>{`${words}, ${begin} to ${to}`}</title>
              <rect className="shaded" x={left} width={Math.max(3, right - left)} y={top + 4} height={LANE - 9} />
              <line className="ink" strokeWidth={2} x1={left} x2={left} y1={top + 4} y2={top + LANE - 5} />
              {right - left > words.length * LETTER + 8 ? (
                <text x={left + 6} y={middle + 3}>
                  {words}
                </text>
              ) : null}
            </g>
          )
        })}
      {lane.marks
        .filter(({ on }) => on >= from)
        .map(({ on, words }) => (
          <circle key={`${on}${words}`} className="dot" cx={x(on)} cy={middle} r={4}>
            <title>{`${words}, ${on}`}</title>
          </circle>
        ))}
    </g>
  )
}

function quarters(start: number, end: number): { day: number; name: string }[] {
  const out: { day: number; name: string }[] = []
  const first = new Date(start * DAY_MS)
  for (let month = first.getUTCMonth() + 1; ; month++) {
    const at = Date.UTC(first.getUTCFullYear(), month, 1)
    if (at / DAY_MS > end - 20) return out
    if (month % 3 === 0) out.push({ day: at / DAY_MS, name: monthName.format(at) })
  }
}
