/** What a person typed or a program sent; the api answers 4xx, the worker does not try again. */
export type ErrorKind = 'invalid' | 'not_found' | 'forbidden' | 'conflict' | 'too_many' | 'unavailable'

/**
 * A failure with a stable code in capitals. Adapters map kind and code; nothing below apps/ knows HTTP.
 * `pointer` is the JSON pointer of the field at fault, where one is.
 */
export class AppError extends Error {
  constructor(
    readonly kind: ErrorKind,
    readonly code: string,
    message: string,
    readonly pointer?: string,
    readonly details?: Readonly<Record<string, unknown>>,
  ) {
    super(message)
    this.name = new.target.name
  }

  /** True where trying again later may succeed. */
  get retryable(): boolean {
    return this.kind === 'unavailable' || this.kind === 'too_many'
  }
}

export class InvalidError extends AppError {
  constructor(code: string, message: string, pointer?: string, details?: Readonly<Record<string, unknown>>) {
    super('invalid', code, message, pointer, details)
  }
}

export class NotFoundError extends AppError {
  constructor(what: string) {
    super('not_found', 'NOT_FOUND', `There is no such ${what}.`)
  }
}

export class ForbiddenError extends AppError {
  constructor(code: string, message: string) {
    super('forbidden', code, message)
  }
}

export class ConflictError extends AppError {
  constructor(code: string, message: string, details?: Readonly<Record<string, unknown>>) {
    super('conflict', code, message, undefined, details)
  }
}

export class UnavailableError extends AppError {
  constructor(code: string, message: string) {
    super('unavailable', code, message)
  }
}

/** Expected outcomes are values; only broken invariants throw. */
export type Result<Value, Failure = AppError> = { ok: true; value: Value } | { ok: false; error: Failure }

export function ok<Value>(value: Value): { ok: true; value: Value } {
  return { ok: true, value }
}

export function failed<Failure>(error: Failure): { ok: false; error: Failure } {
  return { ok: false, error }
}
