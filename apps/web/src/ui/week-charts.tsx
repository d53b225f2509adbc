/** Pictures of days to come: ranges of dates on a scale of weeks, and the load of weeks against the hours there are. */
import type { ReactNode } from 'react'
import { evenMonths } from './format.js'
import { Figures } from './parts.js'

const DAY_MS = 86_400_000
const dayNumber = (date: string): number => Date.parse(`${date}T00:00:00Z`) / DAY_MS
const dayOfMonth = new Intl.DateTimeFormat('en-GB', { timeZone: 'UTC', day: 'numeric', month: 'short' })

/** The scale over the bars: every first week of the month named, today as a mark. */
export function WeekScale({ from, to, today }: { from: string; to: string; today: string }): ReactNode {
  const [start, end] = [dayNumber(from), dayNumber(to)]
  const at = (day: number): number => ((day - start) / (end - start || 1)) * 240
  const weeks = Array.from({ length: Math.floor((end - start) / 7) + 1 }, (_, index) => start + index * 7)
  const step = Math.max(1, Math.ceil(weeks.length / 4))
  return (
    <svg
      viewBox="0 0 240 28"
      style={{ display: 'block', width: '100%', minWidth: 240 }}
      role="img"
      aria-label={`Weeks from ${from} to ${to}`}
    >
      {weeks.map((day, index) => (
        <g key={day}>
          <line className="axis" x1={at(day)} x2={at(day)} y1={index % step === 0 ? 16 : 22} y2={28} />
          {index % step === 0 && at(day) < 210 ? (
            <text x={at(day) + 2} y={14} style={{ fontSize: 11 }}>
              {evenMonths(dayOfMonth.format(day * DAY_MS))}
            </text>
          ) : null}
        </g>
      ))}
      <line className="ink" strokeWidth={2} x1={at(dayNumber(today))} x2={at(dayNumber(today))} y1={18} y2={28} />
    </svg>
  )
}

/** One line of 'Coming up': early to late as a band, likely as a mark, over the weeks asked for. */
export function DueBar({
  from,
  to,
  earlyOn,
  likelyOn,
  lateOn,
}: {
  from: string
  to: string
  earlyOn: string | null
  likelyOn: string | null
  lateOn: string | null
}): ReactNode {
  if (likelyOn === null) return null
  const [start, end] = [dayNumber(from), dayNumber(to)]
  const at = (date: string): number => Math.max(0, Math.min(240, ((dayNumber(date) - start) / (end - start || 1)) * 240))
  const [left, middle, right] = [at(earlyOn ?? from), at(likelyOn), at(lateOn ?? to)]
  // Shape, not place alone, says that a day lies before or after the weeks shown.
  const beyond = dayNumber(likelyOn) < start ? 'M8 1 L0 7 L8 13 Z' : dayNumber(likelyOn) > end ? 'M232 1 L240 7 L232 13 Z' : null
  return (
    <svg viewBox="0 0 240 14" style={{ display: 'block', width: '100%', minWidth: 240 }} aria-hidden="true">
      <line className="axis" x1={0} x2={240} y1={7} y2={7} />
      <rect className="range" x={left} width={Math.max(1, right - left)} y={4} height={6} />
      {beyond ? <path className="dot" d={beyond} /> : <rect className="dot" x={Math.max(0, middle - 1.5)} width={3} y={0} height={14} />}
    </svg>
  )
}

export interface WeekLoad {
  weekStart: string
  minutesBySkill: { instructed: number; technician: number; electrical: number }
  shiftMinutes: number
  technicianMinutes: number | null
  doesNotFitCount: number
  doesNotFitMinutes: number
  openDays: number
  closedDays: string[]
  peaks: { name: string; bars: string }[]
}
const SKILLS = [
  // Technicians stand at the foot of the column, so that the line of their hours is read against their part alone.
  ['technician', 'technician', 'deep'],
  ['instructed', 'instructed person', 'range'],
  ['electrical', 'qualified electrical person', 'dot'],
] as const
const loadOf = ({ minutesBySkill }: WeekLoad): number => SKILLS.reduce((sum, [skill]) => sum + minutesBySkill[skill], 0)
const BAND = { width: 700, left: 64, top: 28, base: 106, height: 130 }

/** Load of the coming weeks in minutes, by who can do it, against the hours that are open. */
export function WeekBand({ weeks, label }: { weeks: WeekLoad[]; label: string }): ReactNode {
  const high = Math.max(60, ...weeks.map(loadOf), ...weeks.map(({ technicianMinutes }) => technicianMinutes ?? 0))
  const unfit = weeks.some(({ doesNotFitCount }) => doesNotFitCount > 0)
  const stated = weeks.some(({ technicianMinutes }) => technicianMinutes !== null)
  const each = (BAND.width - BAND.left) / Math.max(1, weeks.length)
  const tall = (minutes: number): number => (minutes / high) * (BAND.base - BAND.top)
  return (
    <figure className="drawn">
      <svg
        viewBox={`0 0 ${BAND.width} ${BAND.height}`}
        role="img"
        aria-label={`${label}: minutes of care by week; the same as a table below`}
      >
        <text x={0} y={18}>
          min
        </text>
        <line className="axis" x1={BAND.left} x2={BAND.width} y1={BAND.base} y2={BAND.base} />
        <text x={BAND.left - 6} y={BAND.base} textAnchor="end">
          0
        </text>
        {weeks.map((week, index) => (
          <Week key={week.weekStart} week={week} x={BAND.left + index * each} each={each} tall={tall} />
        ))}
      </svg>
      <figcaption className="small soft">
        From below: {SKILLS.map(([, words]) => words).join(', ')}. Shaded: closed days, or a peak that bars work.{' '}
        {stated
          ? 'Line: the technicians’ minutes that there are on open days. Crossed: what does not fit into them.'
          : `How many hours of technicians’ work there are is not stated.${unfit ? ' Crossed: what falls into weeks of which no day is open to technicians.' : ''}`}
      </figcaption>
      <BehindTheWeeks weeks={weeks} />
    </figure>
  )
}

function Week({ week, x, each, tall }: { week: WeekLoad; x: number; each: number; tall: (minutes: number) => number }): ReactNode {
  const whole = loadOf(week)
  const shaded = week.closedDays.length > 0 || week.peaks.some(({ bars }) => bars !== 'nothing')
  const heights = SKILLS.map(([skill]) => tall(week.minutesBySkill[skill]))
  return (
    <g>
      {shaded ? <rect className="shaded" x={x} width={each - 2} y={0} height={BAND.base} /> : null}
      {SKILLS.map(([skill, , style], index) => {
        const height = heights[index] ?? 0
        const top = BAND.base - heights.slice(0, index + 1).reduce((sum, each) => sum + each, 0)
        return <rect key={skill} className={style} x={x + each * 0.2} width={each * 0.5} y={top} height={height} />
      })}
      {week.doesNotFitMinutes > 0 ? (
        <path
          className="limit"
          fill="none"
          d={`M${x + each * 0.2} ${BAND.base - (heights[0] ?? 0)} l${each * 0.5} ${tall(week.doesNotFitMinutes)} m0 ${-tall(week.doesNotFitMinutes)} l${-each * 0.5} ${tall(week.doesNotFitMinutes)}`}
        />
      ) : null}
      {week.technicianMinutes === null ? null : (
        <line
          className="ink"
          strokeWidth={2}
          x1={x + each * 0.12}
          x2={x + each * 0.78}
          y1={BAND.base - tall(week.technicianMinutes)}
          y2={BAND.base - tall(week.technicianMinutes)}
        />
      )}
      <text x={x + each * 0.45} y={BAND.base - tall(whole) - 4} textAnchor="middle">
        {Math.round(whole)}
      </text>
      <text x={x + each * 0.45} y={BAND.base + 18} textAnchor="middle">
        {evenMonths(dayOfMonth.format(dayNumber(week.weekStart) * DAY_MS))}
      </text>
    </g>
  )
}

function BehindTheWeeks({ weeks }: { weeks: WeekLoad[] }): ReactNode {
  return (
    <details className="small">
      <summary>The same as a table</summary>
      <Figures>
        <table>
          <thead>
            <tr>
              <th>Week from</th>
              {SKILLS.map(([skill, words]) => (
                <th key={skill} className="figure">
                  {words}, min
                </th>
              ))}
              <th className="figure">technicians there are, min</th>
              <th className="figure">does not fit, min</th>
              <th className="figure">open, h</th>
              <th>Closed days and peaks</th>
            </tr>
          </thead>
          <tbody>
            {weeks.map((week) => (
              <tr key={week.weekStart}>
                <td className="whole">{week.weekStart}</td>
                {SKILLS.map(([skill]) => (
                  <td key={skill} className="figure">
                    {Math.round(week.minutesBySkill[skill])}
                  </td>
                ))}
                <td className="figure">
                  {week.technicianMinutes === null ? <span className="soft">not stated</span> : Math.round(week.technicianMinutes)}
                </td>
                <td className="figure">
                  {Math.round(week.doesNotFitMinutes)}
                  {week.doesNotFitCount > 0 ? ` (${week.doesNotFitCount})` : ''}
                </td>
                <td className="figure">{Math.round(week.shiftMinutes / 60)}</td>
                <td>{[...week.closedDays, ...week.peaks.map(({ name }) => name || 'peak')].join(', ')}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Figures>
    </details>
  )
}
