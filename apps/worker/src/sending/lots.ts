import { retryDelayMs, type SendOutcome } from '@tapewarden/messaging'
import type { PgScope } from '@tapewarden/persistence/sql'
import pLimit, { type LimitFunction } from 'p-limit'
import type { WorkerParts } from '../parts.js'
import { Batches } from '../support/batches.js'
import {
  type Claimed,
  claimMessages,
  giveUpAddress,
  type HandedMail,
  holdingOf,
  markAllHandingOver,
  markAllSent,
  markExpired,
  markFailed,
  markReturned,
  markUncertain,
} from './claim.js'
import { type LoadedAccountMail, loadAccountMail } from './load-account-mail.js'
import { type LoadedMail, loadMails } from './load-mail.js'
import { type LoadedNote, loadNote } from './load-note.js'

export type Loaded = LoadedMail | LoadedAccountMail | LoadedNote
type Refused = Extract<SendOutcome, { outcome: 'refused' }>
/** now: when it was taken; what follows belongs to that moment. */
type Taken = { claimed: Claimed; mail: Loaded; now: Date } | string

interface Handing {
  claimed: Claimed
  now: Date
  mail: HandedMail
}

interface Attempt {
  claimed: Claimed
  now: Date
  address: string
  outcome: SendOutcome
}

/** A lot's messages were taken within a moment of each other; it counts as of the last. */
const latest = (items: readonly { now: Date }[]): Date => new Date(Math.max(...items.map(({ now }) => now.getTime())))

/** Mails about the mails: each carries its facts itself. */
const NOTES: ReadonlySet<Claimed['kind']> = new Set([
  'queue_stuck',
  'workers_silent',
  'not_in_time',
  'test_mail',
  'webhook_off',
  'sign_in_changed',
])

/** By message. Reminders are read together; account mails and notes are few. */
async function loadAll(
  scope: PgScope,
  claimed: readonly Claimed[],
  settings: WorkerParts['settings'],
  now: Date,
): Promise<Map<string, Loaded | string>> {
  const found = new Map<string, Loaded | string>()
  const reminding: Claimed[] = []
  for (const one of claimed)
    if (one.class === 'account') found.set(one.id, await loadAccountMail(scope, one, settings))
    else if (NOTES.has(one.kind)) found.set(one.id, await loadNote(scope, one, settings))
    else reminding.push(one)
  const mails = await loadMails(scope, reminding, settings, now)
  for (const [index, one] of reminding.entries()) found.set(one.id, mails[index] as LoadedMail | string)
  return found
}

/** Claiming and reading are one transaction: nothing outside the database happens in it. */
async function takeAll({ database, clock, settings }: WorkerParts, organisationId: string, ids: readonly string[]): Promise<Taken[]> {
  const now = await clock.now()
  return database.withOrganisationSql(organisationId, async (scope) => {
    const claimed = await claimMessages(scope, [...new Set(ids)], now, settings.SEND_LEASE_SECONDS)
    const mails = await loadAll(scope, claimed, settings, now)
    const taken = new Map<string, Taken>()
    for (const one of claimed) {
      const mail = mails.get(one.id) ?? 'nothing of it is open any more'
      if (typeof mail === 'string') await markExpired(scope, one, mail)
      taken.set(one.id, typeof mail === 'string' ? `ended: ${mail}` : { claimed: one, mail, now })
    }
    // Two jobs of one message: the first has it.
    return ids.map((id, index) => (ids.indexOf(id) === index ? (taken.get(id) ?? 'not to be sent now') : 'not to be sent now'))
  })
}

/** @returns the holdings that are still ours to hand over */
async function handOverAll(scope: PgScope, { settings, crash }: WorkerParts, handing: readonly Handing[]): Promise<Set<string>> {
  if (handing.length === 0) return new Set()
  const marked = await markAllHandingOver(scope, handing, latest(handing), settings.SEND_LEASE_SECONDS)
  crash('before_handing_over_commit')
  return marked
}

/** Shown, not tried again; where it is the address that takes no mail, what it held goes to whoever stands in. */
async function fail(scope: PgScope, claimed: Claimed, outcome: Refused, address: string): Promise<boolean> {
  const marked = await markFailed(scope, claimed, outcome.reason)
  if (marked && outcome.atRecipient) await giveUpAddress(scope, claimed, address, outcome.reason)
  return marked
}

/** @returns the holdings that were still ours to mark */
async function recordAll(scope: PgScope, { settings }: WorkerParts, attempts: readonly Attempt[]): Promise<Set<string>> {
  if (attempts.length === 0) return new Set()
  const now = latest(attempts)
  const sent = attempts.filter(({ outcome }) => outcome.outcome === 'sent').map(({ claimed }) => claimed)
  const marked = sent.length > 0 ? await markAllSent(scope, sent, now) : new Set<string>()
  for (const { claimed, address, outcome } of attempts) {
    const later = () => new Date(now.getTime() + retryDelayMs(claimed.attempts, settings.SEND_RETRY_SECONDS))
    const ours =
      (outcome.outcome === 'returned' && (await markReturned(scope, claimed, outcome.reason, later()))) ||
      (outcome.outcome === 'refused' && (await fail(scope, claimed, outcome, address))) ||
      (outcome.outcome === 'uncertain' && (await markUncertain(scope, claimed, outcome.reason)))
    if (ours) marked.add(holdingOf(claimed))
  }
  return marked
}

/** Jobs taken for each message that may be handed over: while some are at the mail server, the next are read and written. */
export const SENDING_AHEAD = 3

/** What is written down of a message: before its mail is given to the mail server, and after. */
type Step = { do: 'hand over'; handing: Handing } | { do: 'record'; attempt: Attempt }

/**
 * The ends of some messages and the beginnings of others in one transaction, committed before any of these mails is given
 * to the mail server.
 * @returns whether each was still ours, in their order
 */
async function writeAll(parts: WorkerParts, organisationId: string, steps: readonly Step[]): Promise<boolean[]> {
  return parts.database.withOrganisationSql(organisationId, async (scope) => {
    const recorded = await recordAll(
      scope,
      parts,
      steps.flatMap((step) => (step.do === 'record' ? [step.attempt] : [])),
    )
    const handed = await handOverAll(
      scope,
      parts,
      steps.flatMap((step) => (step.do === 'hand over' ? [step.handing] : [])),
    )
    return steps.map((step) =>
      step.do === 'record' ? recorded.has(holdingOf(step.attempt.claimed)) : handed.has(holdingOf(step.handing.claimed)),
    )
  })
}

/** Messages that are under way at once share their transactions: a few durable commits a lot, not a message. */
export interface Lots {
  take: Batches<string, Taken>
  write: Batches<Step, boolean>
  /** From handing over to what came of it: as many may be uncertain after a death. Those before wait here, claimed and written. */
  underWay: LimitFunction
}

const LOTS = new WeakMap<WorkerParts, Lots>()

export function lotsOf(parts: WorkerParts): Lots {
  let lots = LOTS.get(parts)
  if (!lots) {
    lots = {
      take: new Batches((organisationId, ids) => takeAll(parts, organisationId, ids)),
      write: new Batches((organisationId, steps) => writeAll(parts, organisationId, steps)),
      underWay: pLimit(parts.settings.SEND_CONCURRENCY),
    }
    LOTS.set(parts, lots)
  }
  return lots
}
