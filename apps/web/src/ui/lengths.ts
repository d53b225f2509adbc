/** Lengths as people type them, read exactly. Pure. */
const MM_PER_INCH = 25.4
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

/** 1 in = 25.4 mm by definition (international yard and pound agreement, 1959). */
export const lengthInMm = (value: number, unit: LengthUnit): number => (unit === 'mm' ? value : value * MM_PER_INCH)

/** A limit that is stored in mm, in the reader's unit; three decimals of an inch tell 1/64 apart. */
export function sayLimit(mm: number, unit: LengthUnit): string {
  return unit === 'mm' ? `${Number(mm.toFixed(2))} mm` : `${(mm / MM_PER_INCH).toFixed(3)} in`
}
