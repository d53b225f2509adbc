/** The function check before hand-back, by how far the work reached. Common practice, no source. */
import type { Reach } from '@tapewarden/shared'

export interface StripFacts {
  shortestStripMm: number
  longestStripMm: number
  lengthKeysMm: readonly number[]
  /** null: the middle between shortest and longest. */
  meanStripMm: number | null
  /** null: the type states none; lengths are noted and not judged. */
  stripToleranceMm: number | null
  electric: boolean
}

export interface StripAsked {
  askedMm: number
  times: number
  what: string
}
export interface FunctionCheck {
  kind: 'none' | 'short' | 'full'
  asks: readonly StripAsked[]
  toleranceMm: number | null
  instructions: readonly string[]
  /** What to look at when strips are out of tolerance, in order. */
  ifOutOfTolerance: readonly string[]
}

const OUT_OF_TOLERANCE: readonly string[] = [
  'Change the roll and repeat the check before anything else is blamed.',
  'Then look at the feed clutch: oil on its faces makes tape slip.',
  'Then at the feed wheel: worn or filled knurl.',
  'Then at the pressure roller: flat spots, glue, weak pressure.',
]

/** The length that is cut most: the key nearest the mean strip, or the mean itself where length is free. */
export function mostUsedLengthMm({ lengthKeysMm, meanStripMm, shortestStripMm, longestStripMm }: StripFacts): number {
  const mean = meanStripMm ?? (shortestStripMm + longestStripMm) / 2
  if (lengthKeysMm.length === 0) return mean
  return lengthKeysMm.reduce((best, key) => (Math.abs(key - mean) < Math.abs(best - mean) ? key : best))
}

const coversFirst = ({ electric }: StripFacts): string =>
  electric ? 'Covers on, cord or cable looked at; only then power.' : 'Covers on and looked at.'

function shortCheck(facts: StripFacts): FunctionCheck {
  return {
    kind: 'short',
    asks: [
      { askedMm: facts.shortestStripMm, times: 1, what: 'shortest' },
      { askedMm: facts.longestStripMm, times: 1, what: 'longest' },
    ],
    toleranceMm: facts.stripToleranceMm,
    instructions: [coversFirst(facts), 'Cut one strip of the shortest and one of the longest length, and measure both.'],
    ifOutOfTolerance: OUT_OF_TOLERANCE,
  }
}

function fullCheck(facts: StripFacts): FunctionCheck {
  const threeTimes = [
    { askedMm: facts.shortestStripMm, what: 'shortest' },
    { askedMm: mostUsedLengthMm(facts), what: 'most used' },
    { askedMm: facts.longestStripMm, what: 'longest' },
  ].filter(({ askedMm }, index, all) => all.findIndex((other) => other.askedMm === askedMm) === index)
  const measured = new Set(threeTimes.map(({ askedMm }) => askedMm))
  const others = [...new Set(facts.lengthKeysMm)].filter((key) => !measured.has(key)).sort((a, b) => a - b)
  return {
    kind: 'full',
    asks: [...threeTimes.map((ask) => ({ ...ask, times: 3 })), ...others.map((askedMm) => ({ askedMm, times: 1, what: 'other key' }))],
    toleranceMm: facts.stripToleranceMm,
    instructions: [
      coversFirst(facts),
      'Tank out: dry strips do not stick. Note the kind of tape, and the roll: full, half or near its end.',
      'Cut the strips asked for and measure each.',
      'Then put the tank back and stick one wet strip on a carton: pulled off after a minute, the paper tears.',
    ],
    ifOutOfTolerance: OUT_OF_TOLERANCE,
  }
}

/** Outside work needs none; cover off the short one; inside the full one. */
export function functionCheckFor(reach: Reach, facts: StripFacts): FunctionCheck {
  if (reach === 'outside') return { kind: 'none', asks: [], toleranceMm: facts.stripToleranceMm, instructions: [], ifOutOfTolerance: [] }
  return reach === 'inside' ? fullCheck(facts) : shortCheck(facts)
}
