/** RFC 9457: every failure leaves as one kind of document. */
import { HttpException } from '@nestjs/common'
import { AppError, type ErrorKind } from '@tapewarden/platform'
import type { Problem } from '@tapewarden/shared'
import { databaseFault } from './database-faults.js'

export interface Fault {
  pointer: string
  message: string
}

/** The request does not have the form that the contract asks for. */
export class RequestRefusedError extends Error {
  constructor(readonly faults: readonly Fault[]) {
    super(faults.map((fault) => `${fault.pointer} ${fault.message}`).join('; '))
  }
}

/** Our own answer does not have the promised form: a fault of ours, told to the log alone. */
export class ContractBrokenError extends Error {
  constructor(operation: string, issues: readonly { path: PropertyKey[]; message: string }[]) {
    const first = issues.slice(0, 5).map(({ path, message }) => `${path.join('/')} ${message}`)
    super(`The answer of ${operation} breaks the contract in ${issues.length} places: ${first.join('; ')}`)
  }
}

/** A refusal that was given before under the same idempotency key, given again as it was. */
export class ReplayedProblem extends Error {
  constructor(readonly problem: Problem) {
    super(problem.detail)
  }
}

export interface Answer {
  status: number
  code: string
  detail: string
  errors?: readonly Fault[]
  retryAfterSeconds?: number
}

const TITLES: Readonly<Record<number, string>> = {
  400: 'The request is not well formed',
  401: 'Not signed in',
  403: 'Not allowed',
  404: 'Not found',
  405: 'Not allowed here',
  409: 'In conflict with what is there',
  412: 'Changed meanwhile',
  413: 'Too large',
  414: 'Too long',
  415: 'Not a known form',
  422: 'Not possible',
  429: 'Too many requests',
  500: 'Something went wrong on our side',
  503: 'Not available just now',
}
const STATUS: Readonly<Record<ErrorKind, number>> = {
  invalid: 422,
  not_found: 404,
  forbidden: 403,
  conflict: 409,
  too_many: 429,
  unavailable: 503,
}
/** Where the code says more than the kind. */
const STATUS_OF_CODE: Readonly<Record<string, number>> = {
  NOT_SIGNED_IN: 401,
  SIGN_IN_REFUSED: 401,
  SECOND_FACTOR_NEEDED: 401,
  CODE_REFUSED: 401,
  CODE_USED: 401,
  PRECONDITION_FAILED: 412,
}
const CODES: Readonly<Record<number, string>> = {
  400: 'MALFORMED_REQUEST',
  404: 'NOT_FOUND',
  413: 'BODY_TOO_LARGE',
  414: 'ADDRESS_TOO_LONG',
  415: 'UNKNOWN_MEDIA_TYPE',
  429: 'TOO_MANY_REQUESTS',
  503: 'UNAVAILABLE',
}
const RETRY_AFTER_SECONDS = 5

function ofAppError(error: AppError): Answer {
  const status = STATUS_OF_CODE[error.code] ?? STATUS[error.kind]
  const seconds = error.details?.retryAfterSeconds
  const faults = error.details?.errors as readonly Fault[] | undefined
  return {
    status,
    code: error.code,
    detail: error.message,
    ...(faults ? { errors: faults } : error.pointer === undefined ? {} : { errors: [{ pointer: error.pointer, message: error.message }] }),
    ...(error.retryable ? { retryAfterSeconds: typeof seconds === 'number' ? seconds : RETRY_AFTER_SECONDS } : {}),
  }
}

/** Fastify and Nest say what they refuse by a status; anything else is a fault of ours and says nothing. */
function ofStatus(status: number, message: string): Answer {
  if (status < 400 || status > 499)
    return { status: 500, code: 'INTERNAL', detail: 'It was written down under the request id of this answer.' }
  return { status, code: CODES[status] ?? 'REFUSED', detail: message.slice(0, 1000) }
}

function statusOf(error: unknown): number {
  if (error instanceof HttpException) return error.getStatus()
  const status = (error as { statusCode?: unknown } | null)?.statusCode
  return typeof status === 'number' ? status : 500
}

export function answerTo(error: unknown): Answer {
  if (error instanceof RequestRefusedError)
    return { status: 400, code: 'INVALID_REQUEST', detail: error.message.slice(0, 1000), errors: error.faults.slice(0, 100) }
  if (error instanceof AppError) return ofAppError(error)
  const fault = databaseFault(error)
  if (fault) return { ...fault, ...(fault.status === 503 ? { retryAfterSeconds: RETRY_AFTER_SECONDS } : {}) }
  return ofStatus(statusOf(error), error instanceof Error ? error.message : '')
}

export function problemOf(answer: Answer, requestId: string): Problem {
  return {
    type: `urn:tapewarden:problem:${answer.code.toLowerCase().replaceAll('_', '-')}`,
    title: TITLES[answer.status] ?? 'Refused',
    status: answer.status,
    detail: answer.detail,
    instance: `urn:tapewarden:request:${requestId}`,
    code: answer.code,
    ...(answer.errors ? { errors: [...answer.errors] } : {}),
  }
}
