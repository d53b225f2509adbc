/** Exact conversion between the units that machines, tape and plans are measured in. */
import { InvalidInput, requireFinite } from '../special/errors.js'

/** [kind, numerator, denominator] of the factor to the kind's base unit; whole numbers, so that nothing is rounded twice. */
const UNITS: Readonly<Record<string, readonly [kind: string, numerator: number, denominator: number]>> = {
  mm: ['length', 1, 1000],
  cm: ['length', 1, 100],
  m: ['length', 1, 1],
  km: ['length', 1000, 1],
  // International yard and pound agreement, 1959: 1 ft = 0.3048 m, 1 in = 25.4 mm, 1 lb = 0.45359237 kg exactly
  in: ['length', 254, 10_000],
  ft: ['length', 3048, 10_000],
  yd: ['length', 9144, 10_000],
  s: ['time', 1, 1],
  min: ['time', 60, 1],
  h: ['time', 3600, 1],
  d: ['time', 86_400, 1],
  week: ['time', 604_800, 1],
  g: ['mass', 1, 1000],
  kg: ['mass', 1, 1],
  oz: ['mass', 45_359_237, 1_600_000_000],
  lb: ['mass', 45_359_237, 100_000_000],
  'mm/s': ['speed', 1, 1000],
  'm/s': ['speed', 1, 1],
  'm/min': ['speed', 1, 60],
  'in/s': ['speed', 254, 10_000],
  'ft/min': ['speed', 3048, 600_000],
}

/** Zero point and size in kelvin. Source: SI brochure, 9th ed. 2019, section 2.3.1; °F = °C · 9/5 + 32. */
const TEMPERATURES: Readonly<Record<string, readonly [toKelvin: (value: number) => number, fromKelvin: (value: number) => number]>> = {
  K: [(value) => value, (value) => value],
  C: [(value) => value + 273.15, (value) => value - 273.15],
  F: [(value) => ((value + 459.67) * 5) / 9, (value) => (value * 9) / 5 - 459.67],
}

export const unitNames: readonly string[] = [...Object.keys(UNITS), ...Object.keys(TEMPERATURES)]

/**
 * @param from, to names of `unitNames`, both of one kind
 * @returns relative error < 1e-15 (temperatures: 1e-13 K)
 * @example convert(1000, 'ft', 'm') // 304.8
 */
export function convert(value: number, from: string, to: string): number {
  requireFinite('value', value)
  const [start, end] = [known('from', from), known('to', to)]
  if (start !== end) throw new InvalidInput('to', `is a unit of ${end}, but from is one of ${start}`)
  if (from === to) return value
  const [temperature, other] = [TEMPERATURES[from], TEMPERATURES[to]]
  if (temperature && other) return between(value, from, to)
  const [, above, below] = UNITS[from] as readonly [string, number, number]
  const [, otherAbove, otherBelow] = UNITS[to] as readonly [string, number, number]
  const divisor = common(above * otherBelow, below * otherAbove)
  return (value * ((above * otherBelow) / divisor)) / ((below * otherAbove) / divisor)
}

function known(field: string, unit: string): string {
  if (Object.hasOwn(TEMPERATURES, unit)) return 'temperature'
  const kind = Object.hasOwn(UNITS, unit) ? UNITS[unit]?.[0] : undefined
  if (!kind) throw new InvalidInput(field, `is not a unit known here: ${unitNames.join(', ')}`)
  return kind
}

function between(value: number, from: string, to: string): number {
  if (from === 'C' && to === 'F') return (value * 9) / 5 + 32
  if (from === 'F' && to === 'C') return ((value - 32) * 5) / 9
  return TEMPERATURES[to]?.[1](TEMPERATURES[from]?.[0](value) ?? value) ?? value
}

const common = (a: number, b: number): number => (b === 0 ? a : common(b, a % b))
