/** Whether failures come faster or slower with age. Source: Ascher & Feingold 1984; Meeker & Escobar 1998, 16.3. */
import { chiSquareCdf, chiSquareUpper } from '../special/chi-square.js'
import { normalCdf } from '../special/normal.js'
import { logSum, type Watched } from './power-law.js'
import { sum } from './sum.js'

export interface LaplaceTest {
  /** Standard normal without a trend; above 0 failures come ever faster. */
  statistic: number
  /** Two-sided. */
  pValue: number
}

/** Laplace: failures of a constant rate are spread evenly over each watch. null without a failure. */
export function laplaceTest(systems: readonly Watched[]): LaplaceTest | null {
  const surplus = sum(systems.map(({ failures, end }) => sum(failures.map((time) => time - end / 2))))
  const variance = sum(systems.map(({ failures, end }) => (failures.length * end ** 2) / 12))
  if (variance === 0) return null
  const statistic = surplus / Math.sqrt(variance)
  return { statistic, pValue: 2 * normalCdf(-Math.abs(statistic)) }
}

export interface ChiSquareTrend {
  /** 2 Σ ln(T/t); small when failures come ever faster. */
  statistic: number
  degreesOfFreedom: number
  /** Two-sided. */
  pValue: number
}

/** Also called the test of MIL-HDBK-189. null without a failure. */
export function chiSquareTrend(systems: readonly Watched[]): ChiSquareTrend | null {
  const degreesOfFreedom = 2 * sum(systems.map(({ failures }) => failures.length))
  if (degreesOfFreedom === 0) return null
  const statistic = 2 * sum(systems.map(logSum))
  const smaller = Math.min(chiSquareCdf(statistic, degreesOfFreedom), chiSquareUpper(statistic, degreesOfFreedom))
  return { statistic, degreesOfFreedom, pValue: Math.min(1, 2 * smaller) }
}

/** Distance of the failures from a power law, with the unbiased shape. Source: MIL-HDBK-189, C.3 (Crow). */
export function cramerVonMises({ failures, end }: Watched, shapeUnbiased: number): number {
  const count = failures.length
  const squares = failures.map((time, index) => ((time / end) ** shapeUnbiased - (2 * index + 1) / (2 * count)) ** 2)
  return 1 / (12 * count) + sum(squares)
}
