import { plural } from '../words/say.js'

/** Pieces that are expected on the average, as a sentence: 'About 3 will be needed', 'One may be needed, 2 times in 10'. */
export function sayPieces(expected: number): string {
  if (expected >= 0.95) return `About ${expected < 10 ? Math.round(expected) : Number(expected.toPrecision(2))} will be needed`
  return expected >= 0.05
    ? `One may be needed, about ${plural(Math.round(expected * 10), 'time', 'times')} in 10`
    : 'Hardly one will be needed'
}
