/** Does a machine stand still, by what is only on this phone too. Pure. */
import type { KeptEntry } from './outbox.js'

export const STOPPAGES = '/api/v1/stoppages'
const CLOSING = /^\/api\/v1\/stoppages\/([^/]+)\/closing$/
export const closingPath = (stoppageId: string): string => `/api/v1/stoppages/${stoppageId}/closing`

/** Told when it was typed, not when the network came back: it may work again before that. */
export const stoppageTold = (machineId: string, failureMode: string, now: string): Record<string, unknown> => ({
  id: crypto.randomUUID(),
  machineId,
  failedAt: now,
  reportedAt: now,
  failureMode,
  noticedHow: 'technician',
})

/** The stoppage that a kept 'works again' is for; null: the path is none. */
export const closedBy = (path: string | undefined): string | null => CLOSING.exec(path ?? '')?.[1] ?? null

interface Stopped {
  id: string
  openStoppage: { id: string } | null
}

/** A report that the server has joined to an earlier one goes by that one's id. */
export function layStoppagesOver({ id, openStoppage }: Stopped, kept: readonly KeptEntry[]): { id: string } | null {
  return kept.reduce<{ id: string } | null>((open, { path, body, joined }) => {
    if (path === STOPPAGES && body.machineId === id) return open ?? { id: joined ?? String(body.id) }
    const closed = closedBy(path)
    return closed !== null && (closed === open?.id || isReportOf(kept, closed, id)) ? null : open
  }, openStoppage)
}

interface Opened<Order> {
  openStoppage: { id: string; workOrderId?: string | null } | null
  openWorkOrders: readonly Order[]
}

/** The order that has opened the machine and has not handed it back: its end ends the stoppage. null: nobody has it in hand. */
export function inHandOf<Order extends { id: string; state: string }>(
  stoppageId: string,
  { openStoppage, openWorkOrders }: Opened<Order>,
): Order | null {
  if (openStoppage?.id !== stoppageId) return null
  return openWorkOrders.find(({ id, state }) => id === openStoppage.workOrderId && (state === 'under_way' || state === 'waiting')) ?? null
}

const isReportOf = (kept: readonly KeptEntry[], told: string, machineId: string): boolean =>
  kept.some(({ path, body }) => path === STOPPAGES && body.id === told && body.machineId === machineId)
