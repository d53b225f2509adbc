import { isMailAddress, type MailInput, sectionOf } from '@tapewarden/messaging'
import type { PgScope } from '@tapewarden/persistence'
import { roundLinkUrl, signRoundLink, signUnsubscribeLink, unsubscribeLinkUrl } from '@tapewarden/platform'
import { dateOf, dayOf, lastOfMonth, localToInstant } from '@tapewarden/scheduling'
import type { WorkerSettings } from '../settings.js'
import type { Claimed } from './claim.js'
import { partsToOrder } from './parts-to-order.js'
import { readCare, readHandOver, readOrders, readPartNeeds, readReader } from './rows.js'

export interface LoadedMail {
  input: MailInput
  to: { name: string; address: string }
  unsubscribeUrl: string | null
}

interface WarehouseRow extends Record<string, unknown> {
  id: string
  name: string
  zone: string
}

function roundOf(settings: WorkerSettings, organisationId: string, message: Claimed, warehouse: WarehouseRow): MailInput['round'] {
  const last = lastOfMonth(dayOf(message.localDay))
  const month = message.localDay.slice(0, 7)
  const expiresAt = new Date(localToInstant(warehouse.zone, `${dateOf(last + 1)}T00:00`))
  const token = signRoundLink(settings.SECRET_KEY, {
    organisationId,
    warehouseId: warehouse.id,
    personId: message.personId,
    month,
    expiresAt,
  })
  return { url: roundLinkUrl(settings.PUBLIC_URL, token), month, endsOn: dateOf(last) }
}

/**
 * What a claimed message says now: whatever was done since it was composed is left out.
 * @returns a word on why there is nothing to send, where there is nothing
 */
export async function loadMail(scope: PgScope, message: Claimed, settings: WorkerSettings, now: Date): Promise<LoadedMail | string> {
  const { organisationId } = scope
  const reader = await readReader(scope, message)
  if (!reader?.email || reader.disabled || reader.refused || !isMailAddress(reader.email)) return 'the person can have no mail'
  if (message.class === 'digest' && !reader.reminderMail) return 'the person has turned these mails off'
  const warehouses = await scope.rows<WarehouseRow>('SELECT id, name, zone FROM warehouse WHERE organisation_id = $1 AND id = $2', [
    organisationId,
    message.warehouseId,
  ])
  const warehouse = warehouses[0]
  if (!warehouse) return 'the warehouse is gone'
  const lines = await readCare(scope, message)
  const orders = message.kind === 'digest' ? await readOrders(scope, message) : []
  if (lines.length + orders.length === 0 && message.kind !== 'hand_over') return 'nothing of it is open any more'
  const care = lines.filter(({ folded }) => !folded)
  const wantsParts = message.kind === 'digest' && reader.ordersParts
  const unsubscribeUrl =
    message.class === 'digest'
      ? unsubscribeLinkUrl(settings.PUBLIC_URL, signUnsubscribeLink(settings.SECRET_KEY, { organisationId, personId: message.personId }))
      : null
  const input: MailInput = {
    kind: message.kind,
    person: { name: reader.name, language: reader.language, units: reader.units },
    warehouse: { id: warehouse.id, name: warehouse.name },
    today: message.localDay,
    now,
    care,
    maybeSaid: lines.filter(({ folded }) => folded),
    parts: wantsParts ? partsToOrder(await readPartNeeds(scope, warehouse.id, message.localDay), message.localDay) : [],
    orders,
    handOver: message.insteadOfId === null ? null : await readHandOver(scope, message.insteadOfId, warehouse.id),
    round: care.some(({ stage }) => sectionOf(stage).startsWith('month_')) ? roundOf(settings, organisationId, message, warehouse) : null,
    deskUrl: `${settings.PUBLIC_URL.replace(/\/$/, '')}/`,
    unsubscribeUrl,
  }
  return { input, to: { name: reader.name, address: reader.email }, unsubscribeUrl }
}
