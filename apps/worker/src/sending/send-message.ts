import { addressMail, renderMail, retryDelayMs, type SendOutcome } from '@tapewarden/messaging'
import type { PgScope } from '@tapewarden/persistence'
import type { JobHandler } from '@tapewarden/queues'
import type { WorkerParts } from '../parts.js'
import {
  type Claimed,
  claimMessage,
  giveUpAddress,
  markExpired,
  markFailed,
  markHandingOver,
  markReturned,
  markSent,
  markUncertain,
} from './claim.js'
import { type LoadedAccountMail, loadAccountMail } from './load-account-mail.js'
import { type LoadedMail, loadMail } from './load-mail.js'
import { type LoadedNote, loadNote } from './load-note.js'

type Loaded = LoadedMail | LoadedAccountMail | LoadedNote
type Refused = Extract<SendOutcome, { outcome: 'refused' }>

function load(scope: PgScope, claimed: Claimed, settings: WorkerParts['settings'], now: Date): Promise<Loaded | string> {
  if (claimed.class === 'account') return loadAccountMail(scope, claimed, settings)
  if (claimed.kind === 'queue_stuck' || claimed.kind === 'not_in_time') return loadNote(scope, claimed, settings)
  return loadMail(scope, claimed, settings, now)
}

/** Claiming and reading are one transaction: nothing outside the database happens in it. */
async function take(
  { database, settings, crash }: WorkerParts,
  organisationId: string,
  messageId: string,
  now: Date,
): Promise<{ claimed: Claimed; mail: Loaded } | string> {
  crash('before_claim')
  const taken = await database.withOrganisationSql(organisationId, async (scope) => {
    const claimed = await claimMessage(scope, messageId, now, settings.SEND_LEASE_SECONDS)
    if (!claimed) return 'not to be sent now'
    const mail = await load(scope, claimed, settings, now)
    if (typeof mail !== 'string') return { claimed, mail }
    await markExpired(scope, claimed, mail)
    return `ended: ${mail}`
  })
  crash('after_claim')
  return taken
}

interface Attempt {
  claimed: Claimed
  address: string
}

/** Shown, not tried again; where it is the address that takes no mail, what it held goes to whoever stands in. */
async function fail(scope: PgScope, claimed: Claimed, outcome: Refused, address: string): Promise<boolean> {
  const marked = await markFailed(scope, claimed, outcome.reason)
  if (marked && outcome.atRecipient) await giveUpAddress(scope, claimed, address, outcome.reason)
  return marked
}

async function record(
  { database, settings, crash }: WorkerParts,
  organisationId: string,
  { claimed, address }: Attempt,
  outcome: SendOutcome,
  now: Date,
): Promise<string> {
  const marked = await database.withOrganisationSql(organisationId, (scope) => {
    switch (outcome.outcome) {
      case 'sent':
        return markSent(scope, claimed, now)
      case 'returned':
        return markReturned(
          scope,
          claimed,
          outcome.reason,
          new Date(now.getTime() + retryDelayMs(claimed.attempts, settings.SEND_RETRY_SECONDS)),
        )
      case 'refused':
        return fail(scope, claimed, outcome, address)
      case 'uncertain':
        return markUncertain(scope, claimed, outcome.reason)
    }
  })
  crash('after_mark')
  const why = outcome.outcome === 'sent' ? '' : `: ${outcome.reason}`
  return `${outcome.outcome}${why}${marked ? '' : ' (the message was settled otherwise meanwhile)'}`
}

/** What is kept of a mail's content: how much it said, never a link or a text. */
function summaryOf({ kind, insteadOfId, facts }: Claimed, mail: Loaded): Record<string, unknown> {
  if ('rendered' in mail) return { v: 1, kind, ...(facts === null ? {} : { facts }) }
  const { care, maybeSaid, parts } = mail.input
  return { v: 1, kind, insteadOfId, care: care.length, maybeSaid: maybeSaid.length, parts: parts.length }
}

/**
 * Sends one message at most once. A death before 'handing over' leaves a claim whose lease runs out; after it, nobody
 * can know, and the sweep calls the message uncertain: it is never sent again.
 */
export async function send(parts: WorkerParts, organisationId: string, messageId: string): Promise<string> {
  const { settings, crash } = parts
  const now = await parts.clock.now()
  const taken = await take(parts, organisationId, messageId, now)
  if (typeof taken === 'string') return taken
  const { claimed, mail } = taken
  const rendered = 'rendered' in mail ? mail.rendered : renderMail(mail.input)
  const letter = addressMail(rendered, {
    rowId: messageId,
    publicUrl: settings.PUBLIC_URL,
    from: settings.MAIL_FROM,
    to: mail.to,
    unsubscribeUrl: mail.unsubscribeUrl,
  })
  crash('after_render')
  const content = summaryOf(claimed, mail)
  const ours = await parts.database.withOrganisationSql(organisationId, async (scope) => {
    const marked = await markHandingOver(
      scope,
      claimed,
      { toAddress: letter.to.address, subject: letter.subject, content },
      now,
      settings.SEND_LEASE_SECONDS,
    )
    crash('before_handing_over_commit')
    return marked
  })
  if (!ours) return 'fenced out: the lease ran out before the mail was ready'
  crash('after_handing_over_commit')
  const outcome = await parts.mailer.send(letter, crash)
  crash('after_reply')
  const said = await record(parts, organisationId, { claimed, address: letter.to.address }, outcome, now)
  const standIn = outcome.outcome === 'refused' && outcome.atRecipient && claimed.warehouseId !== null
  if (standIn) await parts.queue.enqueue('compose_messages', { organisationId, warehouseId: claimed.warehouseId as string })
  return said
}

export function sendMessage(parts: WorkerParts): JobHandler<'send_message'> {
  return { name: 'send_message', handle: ({ organisationId, messageId }) => send(parts, organisationId, messageId) }
}
