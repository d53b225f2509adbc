/** A lean client for the phone: no schemas on board; the server checks what comes in, and its answers are ours. */
import { takeEarly } from '../client/early.js'
import { learnClock, notAhead } from '../client/clock.js'
import { type HandStore, joinedTo, type KeptEntry, keepBody, keepJoined, pictureOf, type Sent } from './outbox.js'
import { closedBy, closingPath, STOPPAGES } from './stoppage-overlay.js'

export class Away extends Error {}
export class SignedOut extends Error {
  constructor(
    /** Why a sign-in was refused, in the server's words. */
    readonly detail: string,
    readonly code: string,
  ) {
    super('Sign in again; what you typed is kept on this phone.')
  }
}
export class Refused extends Error {
  constructor(
    readonly status: number,
    message: string,
    readonly code = '',
  ) {
    super(message)
  }
}

const HEADER = 'x-tapewarden'
export const LINK_HEADER = 'x-round-link'
const VISIT_LINK_HEADER = 'x-visit-link'

export const TABLET_HEADER = 'x-tablet'
const TURN_HEADER = 'x-tablet-turn'

/** Who works on a shared tablet just now. */
export interface Turn {
  secret: string
  personId: string
  name: string
}
let turn: Turn | null = null
/** From now on every request goes by this turn; null: nobody has said that they work here. */
export function goByTurn(next: Turn | null): void {
  turn = next
}
export const turnNow = (): Turn | null => turn

let visitSecret: string | null = null
/** From now on every request goes by this visiting technician's link; null: by the session. */
export function goByVisitLink(secret: string | null): void {
  visitSecret = secret
}

/** A signal may be too weak for an answer and still be one: what hangs would hold up all that waits behind it. A photo needs its time. */
const ANSWERS_WITHIN_MS = 60_000
/** A round of a large hall on a slow line; nothing waits behind it. */
const READ_WITHIN_MS = 180_000
const TAKES_A_PHOTO_WITHIN_MS = 600_000

/** @throws Away, SignedOut or Refused */
export async function ask<T>(
  method: 'GET' | 'POST' | 'PUT' | 'DELETE',
  path: string,
  body?: unknown,
  headers: Record<string, string> = {},
  withinMs = method === 'GET' ? READ_WITHIN_MS : ANSWERS_WITHIN_MS,
): Promise<T> {
  const early =
    method === 'GET' && turn === null && visitSecret === null && Object.keys(headers).length === 0 ? await takeEarly(path) : null
  if (early) return (await early.json()) as T
  const askedMs = Date.now()
  const answer = await fetch(path, {
    method,
    // Not there in browsers of before 2022: they wait as long as they ever did.
    signal: typeof AbortSignal.timeout === 'function' ? AbortSignal.timeout(withinMs) : null,
    credentials: 'same-origin',
    headers: {
      accept: 'application/json',
      [HEADER]: '1',
      ...(visitSecret === null ? {} : { [VISIT_LINK_HEADER]: visitSecret }),
      ...(turn === null ? {} : { [TURN_HEADER]: turn.secret }),
      ...(body === undefined ? {} : { 'content-type': 'application/json' }),
      ...headers,
    },
    ...(body === undefined ? {} : { body: JSON.stringify(body) }),
  }).catch(() => {
    throw new Away('The server cannot be reached.')
  })
  learnClock(answer.headers.get('date'), askedMs)
  if (answer.status === 401) {
    const { detail = '', code = '' } = (await answer.json().catch(() => ({}))) as { detail?: string; code?: string }
    throw new SignedOut(detail, code)
  }
  if (answer.status >= 502 && answer.status <= 504) throw new Away('The server is away for a moment.')
  if (!answer.ok) {
    const problem = (await answer.json().catch(() => ({}))) as {
      code?: string
      detail?: string
      errors?: { pointer: string; message: string }[]
    }
    const faults = (problem.errors ?? [])
      .filter(({ message }) => message !== problem.detail)
      .map(({ pointer, message }) => `${pointer} ${message}`)
      .join('; ')
    throw new Refused(
      answer.status,
      `${problem.detail ?? `The server answered ${answer.status}.`}${faults ? ` (${faults})` : ''}`,
      problem.code,
    )
  }
  return (await answer.json()) as T
}

async function pathOf(store: HandStore, entry: KeptEntry): Promise<string> {
  switch (entry.kind) {
    case 'work':
      return `/api/v1/work-orders/${entry.workOrderId}/entries`
    case 'round':
      return '/api/v1/rounds/answers'
    case 'linked_round':
      return '/api/v1/linked-round/answers'
    case 'post': {
      const closed = closedBy(entry.path)
      return closed === null ? (entry.path ?? '') : closingPath(await joinedTo(store, closed))
    }
  }
}

/** The machine stood still already: what is still to be said of this report is said of the earlier one. */
async function noteJoined(store: HandStore, { id, path, body }: KeptEntry, answer: unknown): Promise<void> {
  const known = (answer as { id?: string }).id
  if (path === STOPPAGES && known !== undefined && known !== body.id) await keepJoined(store, id, known)
}

/** Sends one kept entry; after a session has ended it stays kept, so that nothing is lost. */
export async function sendEntry(store: HandStore, entry: KeptEntry): Promise<Sent> {
  try {
    const right = notAhead(entry.body)
    // Kept so before it goes: under its key the same must go out each time.
    if (right !== entry.body) await keepBody(store, entry.id, right)
    const body = entry.hasPicture ? { ...right, content: await pictureOf(store, entry.id) } : right
    // The entry's own id: an answer that was lost on the way is given again, and nothing is done twice.
    const headers: Record<string, string> = {
      'idempotency-key': entry.again === undefined ? entry.id : `${entry.id}.${entry.again}`,
      ...(entry.secret === undefined ? {} : { [LINK_HEADER]: entry.secret }),
      ...(entry.turn === undefined ? {} : { [TURN_HEADER]: entry.turn }),
    }
    const withinMs = entry.hasPicture ? TAKES_A_PHOTO_WITHIN_MS : ANSWERS_WITHIN_MS
    await noteJoined(store, entry, await ask('POST', await pathOf(store, entry), body, headers, withinMs))
    return { outcome: 'saved' }
  } catch (error) {
    // Still being worked on there, or too much at once: asked again later.
    const later = error instanceof Refused && (error.status === 429 || error.code === 'REQUEST_IN_FLIGHT')
    if (error instanceof SignedOut) return { outcome: entry.turn === undefined ? 'signed_out' : 'held' }
    if (error instanceof Refused && error.status < 500 && !later) return { outcome: 'refused', reason: error.message }
    return { outcome: 'unreachable' }
  }
}
