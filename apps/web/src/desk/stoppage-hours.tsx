/** The hours of one stoppage, in the calendar and within shifts: where they went, as a band, in words, as a table. */
import type { ReactNode } from 'react'
import { sayNumber } from '../ui/format.js'
import { Figures } from '../ui/parts.js'
import { BandSwatch, SpanBand } from '../ui/span-band.js'
import { wallOf } from '../ui/wall-time.js'
import { MOMENTS, type One, PART_WORDS, PARTS, sayMoment } from './stoppage-words.js'

const HOUR_MS = 3_600_000

function sentence({ durations, open, warehouse }: One): string {
  const { totalHours, withinShiftsHours } = durations
  const within =
    withinShiftsHours === null
      ? `how many of them lay within shifts is not known: ${warehouse.name} has none`
      : `${sayNumber(withinShiftsHours, 1)} of them within shifts`
  return `${sayNumber(totalHours, 1)} hours${open ? ' so far' : ''}, ${within}.`
}

export function StoppageHours({ stoppage, today }: { stoppage: One; today: string }): ReactNode {
  const { spans, durations, warehouse, machine } = stoppage
  const hoursOf = ({ fromAt, toAt }: One['spans'][number]): number => (Date.parse(toAt) - Date.parse(fromAt)) / HOUR_MS
  const parts = spans.map((span) => ({ ...span, words: `${PART_WORDS[span.kind]}, ${sayNumber(hoursOf(span), 1)} h` }))
  const split = PARTS.map(([, key, words]) => `${words} ${sayNumber(durations[key], 1)} h`).join(', ')
  return (
    <section aria-labelledby="hours">
      <h2 id="hours">Its hours</h2>
      <p className="strong">{sentence(stoppage)}</p>
      {spans.length === 0 ? (
        <p className="soft">From failed to back in use no time passed: there is nothing to split.</p>
      ) : (
        <>
          <SpanBand
            parts={parts}
            moments={named(stoppage)}
            zone={warehouse.zone}
            label={`Where the hours of ${machine.labelCode} went: ${split}`}
          />
          <ul className="plain">
            {PARTS.map(([kind, key, words]) => (
              <li key={kind} className="share">
                <span className="unit">
                  <BandSwatch kind={kind} /> {words}
                </span>
                <span>{sayNumber(durations[key], 1)} h</span>
              </li>
            ))}
          </ul>
          <Table stoppage={stoppage} hoursOf={hoursOf} today={today} />
        </>
      )}
    </section>
  )
}

/** The moments over the band, those of one minute together; the day is named where it is not that of the failure. */
function named(stoppage: One): { at: string; words: string }[] {
  const { zone } = stoppage.warehouse
  const day = wallOf(stoppage.failedAt, zone).slice(0, 10)
  const minutes = new Map<string, { at: string; names: string[] }>()
  for (const [key, name] of MOMENTS) {
    const at = stoppage[key]
    if (at === null) continue
    const said = wallOf(at, zone).startsWith(day) ? wallOf(at, zone).slice(11) : sayMoment(at, zone, day)
    const minute = minutes.get(said) ?? { at, names: [] }
    minute.names.push(name.toLowerCase())
    minutes.set(said, minute)
  }
  return [...minutes].map(([said, { at, names }]) => ({ at, words: `${names.join(', ')} ${said}` }))
}

function Table({ stoppage, hoursOf, today }: { stoppage: One; hoursOf: (span: One['spans'][number]) => number; today: string }): ReactNode {
  const { spans, open, warehouse } = stoppage
  return (
    <details className="small" style={{ marginTop: 8 }}>
      <summary>The same as a table</summary>
      <Figures>
        <table>
          <thead>
            <tr>
              <th>From</th>
              <th>To</th>
              <th>Where the time went</th>
              <th className="figure">Hours</th>
            </tr>
          </thead>
          <tbody>
            {spans.map((span, index) => (
              <tr key={span.fromAt}>
                <td>{sayMoment(span.fromAt, warehouse.zone, today)}</td>
                <td>{open && index === spans.length - 1 ? 'now' : sayMoment(span.toAt, warehouse.zone, today)}</td>
                <td>{PART_WORDS[span.kind]}</td>
                <td className="figure">{sayNumber(hoursOf(span), 2)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Figures>
    </details>
  )
}
