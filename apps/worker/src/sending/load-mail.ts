import { isMailAddress, type MailInput, sectionOf } from '@tapewarden/messaging'
import { type PgScope, readPartNeeds } from '@tapewarden/persistence/sql'
import { roundLinkUrl, signRoundLink, signUnsubscribeLink, unsubscribeLinkUrl } from '@tapewarden/platform'
import { dateOf, dayOf, lastOfMonth, localToInstant } from '@tapewarden/scheduling'
import type { WorkerSettings } from '../settings.js'
import { preparedRows } from '../support/prepared.js'
import type { Claimed } from './claim.js'
import { partsToOrder } from './parts-to-order.js'
import { readCare, type ReadCareLine, type ReadOrderLine, type Reader, readHandOver, readOrders, readReaders } from './rows.js'

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

interface Read {
  reader: Reader | undefined
  warehouse: WarehouseRow | undefined
  lines: readonly ReadCareLine[]
  orders: readonly ReadOrderLine[]
  /** Read once a warehouse and day, however many of its people order parts. */
  partsToOrder: () => Promise<MailInput['parts']>
}

async function mailOf(
  scope: PgScope,
  message: Claimed,
  { reader, warehouse, lines, orders, partsToOrder: readParts }: Read,
  settings: WorkerSettings,
  now: Date,
): Promise<LoadedMail | string> {
  const { organisationId } = scope
  if (!reader?.email || reader.disabled || reader.refused || !isMailAddress(reader.email)) return 'the person can have no mail'
  if (message.class === 'digest' && !reader.reminderMail) return 'the person has turned these mails off'
  if (!warehouse) return 'the warehouse is gone'
  const hearsParts = message.kind === 'digest' && (reader.ordersParts || reader.tellsParts || reader.partsMaybeSaid)
  const parts = hearsParts ? await readParts() : []
  // Parts alone are a reason to write only where nobody has been told of them, or nobody knows whether.
  const newParts = reader.tellsParts || reader.partsMaybeSaid ? parts.length : 0
  if (lines.length + orders.length + newParts === 0 && message.kind !== 'hand_over') return 'nothing of it is open any more'
  const care = lines.filter(({ folded }) => !folded)
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
    parts,
    partsMaybeSaid: reader.partsMaybeSaid && !reader.tellsParts,
    orders: orders.filter(({ folded }) => !folded),
    maybeOrders: orders.filter(({ folded }) => folded),
    handOver: message.insteadOfId === null ? null : await readHandOver(scope, message.insteadOfId, warehouse.id),
    round: care.some(({ stage }) => sectionOf(stage).startsWith('month_')) ? roundOf(settings, organisationId, message, warehouse) : null,
    deskUrl: `${settings.PUBLIC_URL.replace(/\/$/, '')}/`,
    unsubscribeUrl,
  }
  return { input, to: { name: reader.name, address: reader.email }, unsubscribeUrl }
}

/**
 * What claimed messages say now, in their order: whatever was done since they were composed is left out.
 * @returns a word on why there is nothing to send, where there is nothing
 */
export async function loadMails(
  scope: PgScope,
  messages: readonly Claimed[],
  settings: WorkerSettings,
  now: Date,
): Promise<(LoadedMail | string)[]> {
  if (messages.length === 0) return []
  const readers = await readReaders(scope, messages)
  const found = await preparedRows<WarehouseRow>(
    scope,
    'mail warehouses',
    'SELECT id, name, zone FROM warehouse WHERE organisation_id = $1 AND id = ANY($2::uuid[])',
    [scope.organisationId, [...new Set(messages.flatMap(({ warehouseId }) => warehouseId ?? []))]],
  )
  const warehouses = new Map(found.map((warehouse) => [warehouse.id, warehouse]))
  const care = await readCare(scope, messages)
  const orders = await readOrders(
    scope,
    messages.filter(({ kind }) => kind === 'digest'),
  )
  const parts = new Map<string, Promise<MailInput['parts']>>()
  const partsFor = (warehouseId: string, today: string) => {
    const key = `${warehouseId} ${today}`
    const known = parts.get(key) ?? readPartNeeds(scope, { warehouseIds: [warehouseId] }, today).then((needs) => partsToOrder(needs, today))
    parts.set(key, known)
    return known
  }
  const mails: (LoadedMail | string)[] = []
  for (const message of messages)
    mails.push(
      await mailOf(
        scope,
        message,
        {
          reader: readers.get(message.id),
          warehouse: warehouses.get(message.warehouseId ?? ''),
          lines: care.get(message.id) ?? [],
          orders: orders.get(message.id) ?? [],
          partsToOrder: () => partsFor(message.warehouseId ?? '', message.localDay),
        },
        settings,
        now,
      ),
    )
  return mails
}
