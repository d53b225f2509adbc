import { addressMail, type MailToSend, renderMail } from '@tapewarden/messaging'
import type { JobHandler } from '@tapewarden/queues'
import type { WorkerParts } from '../parts.js'
import type { Claimed } from './claim.js'
import { type Loaded, lotsOf } from './lots.js'

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
  return lots.underWay(() => handOver(parts, organisationId, { claimed, mail, now, letter }))
}

interface Written {
  claimed: Claimed
  mail: Loaded
  now: Date
  letter: MailToSend
}

async function handOver(parts: WorkerParts, organisationId: string, { claimed, mail, now, letter }: Written): Promise<string> {
  const { crash } = parts
  const { write } = lotsOf(parts)
  const { address } = letter.to
  const handed = { toAddress: address, subject: letter.subject, content: summaryOf(claimed, mail) }
  const ours = await write.add(organisationId, { do: 'hand over', handing: { claimed, now, mail: handed } })
  if (!ours) return 'fenced out: the lease ran out before the mail was ready'
  crash('after_handing_over_commit')
  const outcome = await parts.mailer.send(letter, crash)
  crash('after_reply')
  const stillOurs = await write.add(organisationId, { do: 'record', attempt: { claimed, now, address, outcome } })
  crash('after_mark')
  const standIn = outcome.outcome === 'refused' && outcome.atRecipient && claimed.warehouseId !== null
  if (standIn) await parts.queue.enqueue('compose_messages', { organisationId, warehouseId: claimed.warehouseId as string })
  const why = outcome.outcome === 'sent' ? '' : `: ${outcome.reason}`
  return `${outcome.outcome}${why}${stillOurs ? '' : ' (the message was settled otherwise meanwhile)'}`
}

export function sendMessage(parts: WorkerParts): JobHandler<'send_message'> {
  return { name: 'send_message', handle: ({ organisationId, messageId }) => send(parts, organisationId, messageId) }
}
