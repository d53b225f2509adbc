/**
 * What was typed on this phone: kept first, sent when the network is there, removed only when the server has answered.
 * Ids are made here, so sending the same entry twice is one entry there.
 */
import { type DBSchema, type IDBPDatabase, openDB } from 'idb'

export interface KeptEntry {
  /** The entry's own id. */
  id: string
  kind: 'work' | 'round' | 'linked_round' | 'post'
  workOrderId?: string
  /** Where a 'post' goes. */
  path?: string
  /** Secret of the mail link that a linked round was opened with. */
  secret?: string
  /** Who typed it; absent for a mail link, which names its person itself. */
  personId?: string
  body: Record<string, unknown>
  keptAt: string
  /** The server's refusal, in words; kept until a person has seen it. */
  refused?: string
}

interface Schema extends DBSchema {
  entries: { key: string; value: KeptEntry & { order: number } }
  pages: { key: string; value: { key: string; at: string; data: unknown } }
}

export type HandStore = IDBPDatabase<Schema>

export function openStore(name = 'tapewarden-hand'): Promise<HandStore> {
  return openDB<Schema>(name, 1, {
    upgrade(database) {
      database.createObjectStore('entries', { keyPath: 'id' })
      database.createObjectStore('pages', { keyPath: 'key' })
    },
  })
}

export async function keepEntry(store: HandStore, entry: KeptEntry): Promise<void> {
  const transaction = store.transaction('entries', 'readwrite')
  const all = await transaction.store.getAll()
  const order = all.reduce((most, other) => Math.max(most, other.order), 0) + 1
  await transaction.store.put({ ...entry, order })
  await transaction.done
}

/** In the order in which they were made; what was refused is left out. */
export async function entriesToSend(store: HandStore): Promise<KeptEntry[]> {
  return (await store.getAll('entries')).filter(({ refused }) => refused === undefined).sort((a, b) => a.order - b.order)
}

export async function countKept(store: HandStore): Promise<{ waiting: number; refused: KeptEntry[] }> {
  const all = await store.getAll('entries')
  return { waiting: all.filter(({ refused }) => refused === undefined).length, refused: all.filter(({ refused }) => refused !== undefined) }
}

export type Sent = { outcome: 'saved' } | { outcome: 'refused'; reason: string } | { outcome: 'unreachable' }

let sending: Promise<number> | null = null

/** On a shared phone nobody's work goes out under another's name. */
export const mayBeSentBy = ({ personId }: KeptEntry, signedInId: string | null): boolean =>
  personId === undefined || personId === signedInId

/**
 * Sends what is kept, in order, one at a time; stops at the first that cannot reach the server. Twice at once is once.
 * @param signedInId whose session it is; entries of others stay for them
 * @returns how many were saved
 */
export function sendKept(store: HandStore, send: (entry: KeptEntry) => Promise<Sent>, signedInId: string | null = null): Promise<number> {
  sending ??= sendAll(store, send, signedInId).finally(() => (sending = null))
  return sending
}

async function sendAll(store: HandStore, send: (entry: KeptEntry) => Promise<Sent>, signedInId: string | null): Promise<number> {
  let saved = 0
  for (const entry of (await entriesToSend(store)).filter((kept) => mayBeSentBy(kept, signedInId))) {
    const sent = await send(entry)
    if (sent.outcome === 'unreachable') break
    if (sent.outcome === 'saved') {
      await store.delete('entries', entry.id)
      saved += 1
    } else {
      const kept = await store.get('entries', entry.id)
      if (kept) await store.put('entries', { ...kept, refused: sent.reason })
    }
  }
  return saved
}

/**
 * Takes back what has not left the phone yet; waits for what is just being sent.
 * @returns false where the server already has it: then it is undone there
 */
export async function takeBack(store: HandStore, id: string): Promise<boolean> {
  await sending?.catch(() => 0)
  const kept = await store.get('entries', id)
  if (!kept) return false
  await store.delete('entries', id)
  return true
}

export async function forgetRefused(store: HandStore, id: string): Promise<void> {
  await store.delete('entries', id)
}

/** The last answer for a page, and since when: shown offline, with its age. */
export async function keepPage(store: HandStore, key: string, data: unknown, at: string): Promise<void> {
  await store.put('pages', { key, data, at })
}

/** Many at once: one transaction, all or none. */
export async function keepPages(store: HandStore, pages: readonly { key: string; at: string; data: unknown }[]): Promise<void> {
  const transaction = store.transaction('pages', 'readwrite')
  await Promise.all([...pages.map((page) => transaction.store.put(page)), transaction.done])
}

export async function keptPage<T>(store: HandStore, key: string): Promise<{ data: T; at: string } | null> {
  const page = await store.get('pages', key)
  return page ? { data: page.data as T, at: page.at } : null
}
