/** A change is made once, though its button be pressed twice or its answer be lost on the way. */
import { tell } from './heard.js'
import { ApiProblem, InWords, Unreachable } from './problems.js'

/** Two presses of one hand; who means to do the same again has read the answer first. */
const ONE_PRESS_MS = 700
/** What was left unanswered yesterday is looked at before it is sent again. */
const REMEMBERED_MS = 12 * 3_600_000

export interface Change {
  /** Method and address. */
  what: string
  /** What is sent, as text. */
  body: string
  /** Several quick presses are several steps. */
  eachPress?: boolean
}
interface Unanswered extends Change {
  key: string
  atMs: number
}

const underWay: { what: string; body: string; atMs: number; answered: boolean; answer: Promise<unknown> }[] = []
let unanswered: Unanswered[] = []

const CAME_BEFORE =
  'What you sent before had arrived; only its answer was lost. Look whether it stands there already; press again to send this as well.'
const SHOWN_ONCE =
  'It was done when you pressed before, but what it shows only once was lost on the way. Press again for a new one; where the first is listed, take it away.'
const STILL_WORKING = 'The server is still working on what you sent before. Wait a moment, then press again.'

// Not randomUUID: that is not there where a page came without TLS.
const newKey = (): string => crypto.getRandomValues(new Uint32Array(4)).join('-')

/** What went out without an answer was done or not, and nobody here knows: under its key it is done once, whatever happened to it. */
function keyOf(change: Change, nowMs: number): string {
  unanswered = unanswered.filter(({ atMs }) => nowMs - atMs < REMEMBERED_MS)
  const there = unanswered.filter(({ what }) => what === change.what)
  return (there.find(({ body }) => body === change.body) ?? there[0])?.key ?? newKey()
}

/** Of a refusal that says nothing of what was sent: it may have been done by an earlier sending. */
const leavesOpen = (error: unknown): boolean =>
  error instanceof Unreachable ||
  (error instanceof ApiProblem && (error.status >= 500 || [401, 408, 429].includes(error.status) || error.code === 'REQUEST_IN_FLIGHT'))

function inWords(error: unknown): unknown {
  const code = error instanceof ApiProblem ? error.code : ''
  if (code === 'KEY_OF_ANOTHER_REQUEST') return new InWords(CAME_BEFORE)
  if (code === 'ANSWER_SHOWN_ONCE') return new InWords(SHOWN_ONCE)
  return code === 'REQUEST_IN_FLIGHT' ? new InWords(STILL_WORKING) : error
}

const pageNow = (): string => (typeof location === 'undefined' ? '' : location.pathname)

async function sendUnderKey<Answer>(change: Change, send: (key: string) => Promise<Answer>): Promise<Answer> {
  const key = keyOf(change, Date.now())
  const from = pageNow()
  try {
    const answer = await send(key)
    unanswered = unanswered.filter((one) => one.key !== key)
    tell('saved')
    return answer
  } catch (error) {
    const before = unanswered.find((one) => one.key === key)
    unanswered = unanswered.filter((one) => one !== before)
    if (leavesOpen(error)) unanswered.push(before ?? { ...change, key, atMs: Date.now() })
    const code = error instanceof ApiProblem ? error.code : ''
    if (code === 'KEY_OF_ANOTHER_REQUEST') tell('came-before')
    if (code === 'NOT_SIGNED_IN') tell('signed-out')
    // Where it would be said, nobody looks any more.
    if (pageNow() !== from) tell('left')
    tell('refused')
    throw inWords(error)
  }
}

export function sendOnce<Answer>(change: Change, send: (key: string) => Promise<Answer>): Promise<Answer> {
  const nowMs = Date.now()
  const same = underWay.find(({ what, body }) => what === change.what && body === change.body)
  if (same && !change.eachPress) return same.answer as Promise<Answer>
  const answer = sendUnderKey(change, send)
  const going = { ...change, atMs: nowMs, answered: false, answer }
  const end = (): void => void underWay.splice(underWay.indexOf(going), 1)
  underWay.push(going)
  answer.then(() => {
    going.answered = true
    setTimeout(end, Math.max(0, ONE_PRESS_MS - (Date.now() - nowMs)))
  }, end)
  return answer
}

/** How long what is under way has been waited for; null: nothing is. */
export function waitedMs(): number | null {
  const since = underWay.filter(({ answered }) => !answered).map(({ atMs }) => atMs)
  return since.length === 0 ? null : Date.now() - Math.min(...since)
}
