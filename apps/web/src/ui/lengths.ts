/** Lengths as people type them, read exactly. Pure. */
export type LengthUnit = 'mm' | 'in'

const DECIMAL = /^\d+([.,]\d+)?$/
const FRACTION = /^(?:(\d+)\s+)?(\d+)\/(\d+)$/

/**
 * '9.5', '9,5', '3/8', '1 3/16'.
 * @returns the number in the unit it was typed in, ≥ 0; null for what is no length
 */
export function parseLength(text: string): number | null {
  const typed = text.trim()
  if (DECIMAL.test(typed)) return Number(typed.replace(',', '.'))
  const parts = FRACTION.exec(typed)
  if (!parts) return null
  const below = Number(parts[3])
  return below === 0 ? null : Number(parts[1] ?? 0) + Number(parts[2]) / below
}

/** 1 in = 25.4 mm by definition (international yard and pound agreement, 1959); by whole numbers, so that 3/8 in is 9.525 mm to the last digit. */
export const lengthInMm = (value: number, unit: LengthUnit): number => (unit === 'mm' ? value : (value * 254) / 10)

/** A limit that is stored in mm, in the reader's unit; three decimals of an inch tell 1/64 apart. */
export function sayLimit(mm: number, unit: LengthUnit): string {
  return unit === 'mm' ? `${Number(mm.toFixed(2))} mm` : `${(mm / lengthInMm(1, 'in')).toFixed(3)} in`
}

/** What a field that takes lengths admits. */
export const LENGTH_PATTERN = String.raw`(\d+([.,]\d+)?|(\d+ +)?\d+\/\d+)`

/** A length that is stored in mm, as a field shows it. */
export const shownLength = (mm: number | null, unit: LengthUnit): string =>
  mm === null ? '' : String(Number((mm / lengthInMm(1, unit)).toFixed(unit === 'mm' ? 2 : 3)))

/** @param before what the field was opened with: not touched, it stays to the last digit  @returns mm; null: empty, or no length */
export function typedLength(text: string, before: number | null, unit: LengthUnit): number | null {
  if (text.trim() === shownLength(before, unit)) return before
  const length = parseLength(text)
  return length === null ? null : lengthInMm(length, unit)
}
