/** Points and weights of Gauss–Legendre's rule with eight points on [−1, 1]. Source: Abramowitz & Stegun, table 25.4. */
const HALF: readonly (readonly [number, number])[] = [
  [0.1834346424956498, 0.362683783378362],
  [0.525532409916329, 0.3137066458778873],
  [0.7966664774136267, 0.2223810344533745],
  [0.9602898564975363, 0.1012285362903763],
]
export const EIGHT_POINTS: readonly (readonly [number, number])[] = [...HALF.map(([x, weight]) => [-x, weight] as const).reverse(), ...HALF]

/** ∫ f over [from, to] with eight points. */
export function integrateStretch(f: (x: number) => number, from: number, to: number): number {
  const [middle, half] = [(from + to) / 2, (to - from) / 2]
  return half * EIGHT_POINTS.reduce((sum, [x, weight]) => sum + weight * f(middle + half * x), 0)
}
