/** Chances to choose from, in percent, that no part is missing when it is needed. */
export const SURE: readonly number[] = [80, 90, 95, 98, 99]

/** The choices, and among them the one that stands now, whatever it is. */
export const withValue = (values: readonly number[], value: number | null): number[] =>
  value === null || values.includes(value) ? [...values] : [...values, value].toSorted((a, b) => a - b)
