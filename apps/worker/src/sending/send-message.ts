import { addressMail, renderMail, retryDelayMs, type SendOutcome } from '@tapewarden/messaging'
import type { PgScope } from '@tapewarden/persistence'
import type { JobHandler } from '@tapewarden/queues'
import type { WorkerParts } from '../parts.js'
import { Batches } from '../support/batches.js'
import {
  type Claimed,
  claimMessages,
  giveUpAddress,
  type HandedMail,
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

type Loaded = LoadedMail | LoadedAccountMail | LoadedNote
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
const NOTES: ReadonlySet<Claimed['kind']> = new Set(['queue_stuck', 'workers_silent', 'not_in_time', 'test_mail', 'webhook_off'])

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

/** Committed before any of these mails is given to the mail server. */
async function handOverAll(
  { database, settings, crash }: WorkerParts,
  organisationId: string,
  handing: readonly Handing[],
): Promise<boolean[]> {
  const now = latest(handing)
  return database.withOrganisationSql(organisationId, async (scope) => {
    const marked = await markAllHandingOver(scope, handing, now, settings.SEND_LEASE_SECONDS)
    crash('before_handing_over_commit')
    return handing.map(({ claimed }) => marked.has(claimed.id))
  })
}

/** Shown, not tried again; where it is the address that takes no mail, what it held goes to whoever stands in. */
async function fail(scope: PgScope, claimed: Claimed, outcome: Refused, address: string): Promise<boolean> {
  const marked = await markFailed(scope, claimed, outcome.reason)
  if (marked && outcome.atRecipient) await giveUpAddress(scope, claimed, address, outcome.reason)
  return marked
}

/** @returns a word on each attempt, in their order */
async function recordAll({ database, settings }: WorkerParts, organisationId: string, attempts: readonly Attempt[]): Promise<string[]> {
  const now = latest(attempts)
  const marked = await database.withOrganisationSql(organisationId, async (scope) => {
    const sent = attempts.filter(({ outcome }) => outcome.outcome === 'sent').map(({ claimed }) => claimed)
    const done = sent.length > 0 ? await markAllSent(scope, sent, now) : new Set<string>()
    for (const { claimed, address, outcome } of attempts) {
      const later = () => new Date(now.getTime() + retryDelayMs(claimed.attempts, settings.SEND_RETRY_SECONDS))
      const ours =
        (outcome.outcome === 'returned' && (await markReturned(scope, claimed, outcome.reason, later()))) ||
        (outcome.outcome === 'refused' && (await fail(scope, claimed, outcome, address))) ||
        (outcome.outcome === 'uncertain' && (await markUncertain(scope, claimed, outcome.reason)))
      if (ours) done.add(claimed.id)
    }
    return done
  })
  return attempts.map(({ claimed, outcome }) => {
    const why = outcome.outcome === 'sent' ? '' : `: ${outcome.reason}`
    return `${outcome.outcome}${why}${marked.has(claimed.id) ? '' : ' (the message was settled otherwise meanwhile)'}`
  })
}

interface Lots {
  take: Batches<string, Taken>
  handOver: Batches<Handing, boolean>
  record: Batches<Attempt, string>
}

const LOTS = new WeakMap<WorkerParts, Lots>()

/** Messages that are under way at once share their transactions: three durable commits a lot, not a message. */
function lotsOf(parts: WorkerParts): Lots {
  let lots = LOTS.get(parts)
  if (!lots) {
    lots = {
      take: new Batches((organisationId, ids) => takeAll(parts, organisationId, ids)),
      handOver: new Batches((organisationId, handing) => handOverAll(parts, organisationId, handing)),
      record: new Batches((organisationId, attempts) => recordAll(parts, organisationId, attempts)),
    }
    LOTS.set(parts, lots)
  }
  return lots
}

/** What is kept of a mail's content: how much it said, never a link or a text. */
function summaryOf({ kind, insteadOfId }: Claimed, mail: Loaded): Record<string, unknown> {
  if ('rendered' in mail) return { v: 1, kind }
  const { care, maybeSaid, parts } = mail.input
  return { v: 1, kind, insteadOfId, care: care.length, maybeSaid: maybeSaid.length, parts: parts.length }
}

/**
 * Sends one message at most once. A death before 'handing over' leaves a claim whose lease runs out; after it, nobody
 * can know, and the sweep calls the message uncertain: it is never sent again.
 */
export async function send(parts: WorkerParts, organisationId: string, messageId: string): Promise<string> {
  const { settings, crash } = parts
  const lots = lotsOf(parts)
  crash('before_claim')
  const taken = await lots.take.add(organisationId, messageId)
  crash('after_claim')
  if (typeof taken === 'string') return taken
  const { claimed, mail, now } = taken
  const letter = addressMail('rendered' in mail ? mail.rendered : renderMail(mail.input), {
    rowId: messageId,
    publicUrl: settings.PUBLIC_URL,
    from: settings.MAIL_FROM,
    to: mail.to,
    unsubscribeUrl: mail.unsubscribeUrl,
  })
  crash('after_render')
  const { address } = letter.to
  const handed = { toAddress: address, subject: letter.subject, content: summaryOf(claimed, mail) }
  const ours = await lots.handOver.add(organisationId, { claimed, now, mail: handed })
  if (!ours) return 'fenced out: the lease ran out before the mail was ready'
  crash('after_handing_over_commit')
  const outcome = await parts.mailer.send(letter, crash)
  crash('after_reply')
  const said = await lots.record.add(organisationId, { claimed, now, address, outcome })
  crash('after_mark')
  const standIn = outcome.outcome === 'refused' && outcome.atRecipient && claimed.warehouseId !== null
  if (standIn) await parts.queue.enqueue('compose_messages', { organisationId, warehouseId: claimed.warehouseId as string })
  return said
}

export function sendMessage(parts: WorkerParts): JobHandler<'send_message'> {
  return { name: 'send_message', handle: ({ organisationId, messageId }) => send(parts, organisationId, messageId) }
}
