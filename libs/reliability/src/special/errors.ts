/** Bad input to a calculation: names the field and says what it must be. Never NaN instead. */
export class InvalidInput extends RangeError {
  readonly code = 'INVALID_INPUT'

  constructor(
    readonly field: string,
    what: string,
  ) {
    super(`${field} ${what}`)
    this.name = 'InvalidInput'
  }
}

export function requireFinite(field: string, value: number): void {
  if (!Number.isFinite(value)) throw new InvalidInput(field, 'must be a finite number')
}

export function requirePositive(field: string, value: number): void {
  if (!(value > 0) || !Number.isFinite(value)) throw new InvalidInput(field, 'must be a number above 0')
}

export function requireNotNegative(field: string, value: number): void {
  if (!(value >= 0) || !Number.isFinite(value)) throw new InvalidInput(field, 'must be a number not below 0')
}

export function requireBetween(field: string, value: number, low: number, high: number): void {
  if (!(value > low && value < high)) throw new InvalidInput(field, `must lie between ${low} and ${high}`)
}
