/** A picture beside each word, for whoever reads none of the languages. Lines only: they stay in forced colours and in print. */
import type { ReactNode } from 'react'
import type { WrongKey } from './languages/words.js'

const DRAWN: Record<WrongKey, string> = {
  no_water: 'M24 6c7 10 11 15 11 21a11 11 0 0 1-22 0c0-6 4-11 11-21z M8 40L40 8',
  wrong_tape:
    'M24 8a16 16 0 1 0 0 32a16 16 0 0 0 0-32z M24 18a6 6 0 1 0 0 12a6 6 0 0 0 0-12z M40 24v18h6 M12 44c-2-3-3-4-3-6a3 3 0 0 1 6 0c0 2-1 3-3 6z',
  jammed: 'M4 14h14l6 8-6 6 8 6-4 6h22 M30 8l12 12 M42 8L30 20',
  cuts_badly: 'M6 16h30 M6 32h12l4-5 4 8 4-8 4 8 4-8 4 5h2 M40 10v12',
  dead: 'M24 6v16 M14 12a16 16 0 1 0 20 0 M6 42L42 6',
  smell_or_smoke: 'M14 42c-6-6 6-10 0-18s4-12 0-18 M24 42c-6-6 6-10 0-18s4-12 0-18 M34 42c-6-6 6-10 0-18s4-12 0-18',
}

export function WrongPicture({ of }: { of: WrongKey }): ReactNode {
  return (
    <svg viewBox="0 0 48 48" width="40" height="40" aria-hidden="true" className="sign">
      <path d={DRAWN[of]} fill="none" stroke="currentColor" strokeWidth="3" strokeLinecap="round" strokeLinejoin="round" />
    </svg>
  )
}

export function NoHandsPicture({ label }: { label: string }): ReactNode {
  return (
    <svg viewBox="0 0 48 48" width="64" height="64" role="img" aria-label={label}>
      <path
        d="M17 34V18a2 2 0 0 1 4 0v8-12a2 2 0 0 1 4 0v12-11a2 2 0 0 1 4 0v12-8a2 2 0 0 1 4 0v14c0 6-4 9-9 9-4 0-6-2-8-6l-4-8c-1-2 2-4 3-2z"
        fill="none"
        stroke="currentColor"
        strokeWidth="2"
      />
      <circle cx="24" cy="24" r="21" fill="none" stroke="currentColor" strokeWidth="4" />
      <path d="M9 9l30 30" stroke="currentColor" strokeWidth="4" />
    </svg>
  )
}
