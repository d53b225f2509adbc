/** One stretch of time as a band of kinds: its moments named above it, the clock below, a table behind. */
import type { ReactNode } from 'react'
import { placeLabels, ticksOf } from './span-scale.js'

export interface BandPart {
  kind: 'detection' | 'administrative' | 'logistic' | 'technical' | 'active'
  fromAt: string
  toAt: string
  words: string
}
export interface BandMoment {
  at: string
  words: string
}

/** Nothing is done yet: empty; deciding: shaded; waiting: lighter and light; hands on: full. */
const STYLES: Readonly<Record<BandPart['kind'], string>> = {
  detection: 'guess',
  administrative: 'shaded',
  logistic: 'range',
  technical: 'fan',
  active: 'deep',
}

const WIDTH = 760
const RIGHT = 752
const ROW = 24
const BAND = 40
/** Room that a letter takes, on a phone, where letters are larger, too. */
const LETTER = 9.5

export function SpanBand({
  parts,
  moments,
  zone,
  label,
}: {
  parts: readonly BandPart[]
  moments: readonly BandMoment[]
  zone: string
  label: string
}): ReactNode {
  const [start, end] = [Date.parse(parts[0]?.fromAt ?? ''), Date.parse(parts.at(-1)?.toAt ?? '')]
  const x = (at: number): number => 1 + ((at - start) / (end - start)) * (RIGHT - 1)
  const labels = placeLabels(
    moments.map(({ at, words }) => ({ x: x(Date.parse(at)), words })),
    WIDTH,
    LETTER,
  )
  const top = (Math.max(0, ...labels.map(({ row }) => row)) + 1) * ROW + 8
  const height = top + BAND + 26
  return (
    // oxlint-disable-next-line jsx-a11y/no-noninteractive-tabindex -- what scrolls must be reached by the keyboard
    <figure className="drawn" role="group" aria-label="As a picture; the arrow keys move it" tabIndex={0}>
      <svg viewBox={`0 0 ${WIDTH} ${height}`} role="img" aria-label={label}>
        {parts.map(({ kind, fromAt, toAt, words }) => {
          const [left, right] = [x(Date.parse(fromAt)), x(Date.parse(toAt))]
          return (
            <g key={fromAt}>
              <title>{words}</title>
              <rect className={STYLES[kind]} x={left} width={Math.max(1, right - left)} y={top} height={BAND} />
              {right - left > words.length * LETTER + 8 ? (
                <text
                  className={kind === 'active' ? 'on-deep' : 'on-band'}
                  x={(left + right) / 2}
                  y={top + BAND / 2 + 5}
                  textAnchor="middle"
                >
                  {words}
                </text>
              ) : null}
            </g>
          )
        })}
        <path className="ink" fill="none" d={`M1 ${top} H${RIGHT} V${top + BAND} H1 Z`} />
        {labels.map(({ x: at, ends, row, words }) => {
          const foot = top - 8 - row * ROW
          return (
            <g key={words}>
              <line className="ink" x1={at} x2={at} y1={foot - 2} y2={top + BAND} />
              <text x={ends ? at - 4 : at + 4} y={foot - 6} textAnchor={ends ? 'end' : 'start'}>
                {words}
              </text>
            </g>
          )
        })}
        {ticksOf(start, end, zone).map(({ at, words }) => (
          <g key={at}>
            <line className="ink" x1={x(at)} x2={x(at)} y1={top + BAND} y2={top + BAND + 5} />
            {x(at) < WIDTH - 64 ? (
              <text x={x(at)} y={height - 4}>
                {words}
              </text>
            ) : null}
          </g>
        ))}
      </svg>
    </figure>
  )
}

/** The same look beside the words of a kind, so that the band needs no legend of its own. */
export function BandSwatch({ kind }: { kind: BandPart['kind'] }): ReactNode {
  return (
    <svg viewBox="0 0 24 12" width={24} height={12} style={{ width: 24, flex: 'none' }} aria-hidden="true">
      <rect className={STYLES[kind]} width={24} height={12} />
      <rect className="ink" fill="none" x={0.5} y={0.5} width={23} height={11} />
    </svg>
  )
}
