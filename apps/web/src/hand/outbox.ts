/**
 * What was typed on this phone: kept first, sent when the network is there, called saved only when the server has answered.
 * What is saved stays beside the pages that do not know it yet, so that no page, not even one opened without a network, forgets it.
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
  /** The machine it is about, where neither path nor body names it. */
  machineId?: string
  /** Secret of the mail link that a linked round was opened with. */
  secret?: string
  /** Who typed it; absent for a mail link, which names its person itself. */
  personId?: string
  /** Secret of the turn on a shared tablet under which it was typed: it goes out by that, whoever works there later. */
  turn?: string
  body: Record<string, unknown>
  /** A picture that belongs to the body as its content; kept apart, since entries are read often and pictures are large. */
  hasPicture?: true
  keptAt: string
  /** The server's refusal, in words; kept until a person has seen it. */
  refused?: string
  /** How often it was sent again after a refusal: the server keeps a refusal under the first key. */
  again?: number
  /** Of a report that a machine stands still, which it did already: the earlier report's id, under which both stand. */
  joined?: string
  /** When the server had it; pages that were asked for before do not know it. */
  savedAt?: string
}

interface Schema extends DBSchema {
  entries: { key: string; value: KeptEntry & { order: number } }
  pages: { key: string; value: { key: string; at: string; data: unknown } }
  /** JPEGs in base64, by the entry that brings them. */
  pictures: { key: string; value: { id: string; content: string } }
}

export type HandStore = IDBPDatabase<Schema>

/** @param onBlocked an older page of ours is open beside this one and must be closed first */
export function openStore(name = 'tapewarden-hand', onBlocked?: () => void): Promise<HandStore> {
  return openDB<Schema>(name, 2, {
    upgrade(database, from) {
      if (from < 1) {
        database.createObjectStore('entries', { keyPath: 'id' })
        database.createObjectStore('pages', { keyPath: 'key' })
      }
      if (from < 2) database.createObjectStore('pictures', { keyPath: 'id' })
    },
    blocked: () => onBlocked?.(),
  })
}

let lastMs = 0
/** The phone's clock, but never the same or an earlier instant twice: what was saved and what was asked for are told apart by it. */
export function instantNow(): string {
  lastMs = Math.max(Date.now(), lastMs + 1)
  return new Date(lastMs).toISOString()
}

/** A page that is older than this shows what it showed; the phone does not grow without end. */
const SAVED_STAYS_MS = 24 * 60 * 60_000
const isOld = ({ savedAt }: KeptEntry): boolean => savedAt !== undefined && Math.abs(Date.now() - Date.parse(savedAt)) > SAVED_STAYS_MS

/** Entry and picture, or neither. @throws where the phone is full even without what is saved: then nothing was kept */
export async function keepEntry(store: HandStore, entry: KeptEntry, picture?: string): Promise<void> {
  try {
    await writeEntry(store, entry, picture)
  } catch (error) {
    if ((await forgetSaved(store, () => true).catch(() => 0)) === 0) throw error
    await writeEntry(store, entry, picture)
  }
}

async function writeEntry(store: HandStore, entry: KeptEntry, picture?: string): Promise<void> {
  const transaction = store.transaction(['entries', 'pictures'], 'readwrite')
  const entries = transaction.objectStore('entries')
  const all = await entries.getAll()
  const order = all.reduce((most, other) => Math.max(most, other.order), 0) + 1
  await Promise.all([
    entries.put({ ...entry, ...(picture === undefined ? {} : { hasPicture: true as const }), order }),
    picture === undefined ? undefined : transaction.objectStore('pictures').put({ id: entry.id, content: picture }),
    transaction.done,
  ])
}

export async function pictureOf(store: HandStore, entryId: string): Promise<string | null> {
  return (await store.get('pictures', entryId))?.content ?? null
}

const isOpen = ({ refused, savedAt }: KeptEntry): boolean => refused === undefined && savedAt === undefined

/** In the order in which they were made, pictures last: nothing waits for them. What was refused is left out. */
export async function entriesToSend(store: HandStore): Promise<KeptEntry[]> {
  return (await readKept(store)).entries
}

const inOrder = (open: (KeptEntry & { order: number })[]): KeptEntry[] =>
  open.sort((a, b) => Number(a.hasPicture ?? false) - Number(b.hasPicture ?? false) || a.order - b.order)

async function forget(store: HandStore, id: string): Promise<void> {
  const transaction = store.transaction(['entries', 'pictures'], 'readwrite')
  await Promise.all([transaction.objectStore('entries').delete(id), transaction.objectStore('pictures').delete(id), transaction.done])
}

/** The server has it: its picture goes, the entry stays for the pages that were asked for before. A full phone forgets it instead. */
async function nowSaved(store: HandStore, id: string): Promise<void> {
  const transaction = store.transaction(['entries', 'pictures'], 'readwrite')
  const entries = transaction.objectStore('entries')
  const kept = await entries.get(id)
  try {
    await Promise.all([
      kept && entries.put({ ...kept, savedAt: instantNow() }),
      transaction.objectStore('pictures').delete(id),
      transaction.done,
    ])
  } catch {
    await forget(store, id)
  }
}

/** @returns how many went */
async function forgetSaved(store: HandStore, which: (entry: KeptEntry) => boolean): Promise<number> {
  const transaction = store.transaction('entries', 'readwrite')
  const going = (await transaction.store.getAll()).filter((entry) => entry.savedAt !== undefined && which(entry))
  await Promise.all([...going.map(({ id }) => transaction.store.delete(id)), transaction.done])
  return going.length
}

export interface OnPhone {
  /** Waiting for the server, in the order in which they go out. */
  entries: KeptEntry[]
  refused: KeptEntry[]
  /** The server has them, oldest first. */
  saved: KeptEntry[]
}

/** As of one moment: an entry is in one of the three, never in none. */
export async function readKept(store: HandStore): Promise<OnPhone> {
  const all = await store.getAll('entries')
  const saved = all.filter(({ savedAt }) => savedAt !== undefined).sort((a, b) => (a.savedAt ?? '').localeCompare(b.savedAt ?? ''))
  // The clock may have been put back since the page was open before.
  lastMs = Math.max(lastMs, Date.parse(saved.at(-1)?.savedAt ?? '') || 0)
  return { entries: inOrder(all.filter(isOpen)), refused: inOrder(all.filter(({ refused }) => refused !== undefined)), saved }
}

/** What a page that was asked for at this instant cannot know: what was saved since, then what only this phone has. */
export function notInPage({ entries, saved }: Pick<OnPhone, 'entries' | 'saved'>, at: string | null): KeptEntry[] {
  return [...saved.filter(({ savedAt }) => at === null || (savedAt ?? '') >= at), ...entries]
}

/** held: the turn it was typed under is over; it waits until its person has said their code again. */
export type Sent =
  | { outcome: 'saved' }
  | { outcome: 'refused'; reason: string }
  | { outcome: 'unreachable' }
  | { outcome: 'signed_out' }
  | { outcome: 'held' }

let sending: Promise<number> | null = null

/** Why the last sending ended before all was sent: nobody there, or nobody signed in; null: it went through. */
export type Stopped = 'unreachable' | 'signed_out' | null
let stopped: Stopped = null
export const whyStopped = (): Stopped => stopped

/** On a shared phone nobody's work goes out under another's name. */
export const mayBeSentBy = ({ personId, turn }: KeptEntry, signedInId: string | null): boolean =>
  personId === undefined || turn !== undefined || personId === signedInId

/**
 * Sends what is kept, in order, one at a time, and what is typed meanwhile; stops at the first that cannot reach the server, or finds nobody signed in.
 * Twice at once is once.
 * @param signedInId whose session it is; entries of others stay for them
 * @returns how many were saved
 */
export function sendKept(store: HandStore, send: (entry: KeptEntry) => Promise<Sent>, signedInId: string | null = null): Promise<number> {
  sending ??= sendAll(store, send, signedInId).finally(() => (sending = null))
  return sending
}

async function sendAll(store: HandStore, send: (entry: KeptEntry) => Promise<Sent>, signedInId: string | null): Promise<number> {
  let saved = 0
  let stop: Stopped = null
  await forgetSaved(store, isOld)
  const tried = new Set<string>()
  const held = new Set<string | undefined>()
  let queue: KeptEntry[] = []
  for (let entry = await next(); entry; entry = await next()) {
    tried.add(entry.id)
    const sent = await send(entry)
    if (sent.outcome === 'unreachable' || sent.outcome === 'signed_out') {
      stop = sent.outcome
      break
    }
    if (sent.outcome === 'held') {
      held.add(entry.personId)
      await bindToTurn(store, entry.personId ?? '', null)
    } else if (sent.outcome === 'saved') {
      await nowSaved(store, entry.id)
      saved += 1
    } else {
      const kept = await store.get('entries', entry.id)
      // A phone that is too full for the reason asks again later, and hears it again; what comes behind goes on.
      if (kept) await store.put('entries', { ...kept, refused: sent.reason }).catch(() => undefined)
    }
  }
  stopped = stop
  return saved

  /** What follows of the same person may rest on what is held, so it is left out. Read again before a picture and at the end. */
  async function next(): Promise<KeptEntry | undefined> {
    const mine = (entry: KeptEntry): boolean => !tried.has(entry.id) && mayBeSentBy(entry, signedInId) && !held.has(entry.personId)
    queue = queue.filter(mine)
    if (queue[0] === undefined || queue[0].hasPicture) queue = (await entriesToSend(store)).filter(mine)
    return queue[0]
  }
}

/** What a person typed on a shared tablet goes out by this turn from now on; null: it waits for their next one. */
export async function bindToTurn(store: HandStore, personId: string, turn: string | null): Promise<void> {
  const transaction = store.transaction('entries', 'readwrite')
  const theirs = (await transaction.store.getAll()).filter((entry) => entry.personId === personId && isOpen(entry))
  const bound = theirs.map(({ turn: _before, ...entry }) => (turn === null ? entry : { ...entry, turn }))
  await Promise.all([...bound.map((entry) => transaction.store.put(entry)), transaction.done])
}

/**
 * Takes back what has not left the phone yet; waits for what is just being sent.
 * @returns false where the server already has it: then it is undone there
 */
export async function takeBack(store: HandStore, id: string): Promise<boolean> {
  await sending?.catch(() => 0)
  const kept = await store.get('entries', id)
  if (!kept || kept.savedAt !== undefined) return false
  await forget(store, id)
  return true
}

/** What was refused waits for the server again: the reason may be gone. */
export async function sendAgain(store: HandStore, ids: readonly string[]): Promise<void> {
  const transaction = store.transaction('entries', 'readwrite')
  for (const id of ids) {
    const kept = await transaction.store.get(id)
    if (kept?.refused === undefined) continue
    const { refused: _reason, ...entry } = kept
    await transaction.store.put({ ...entry, again: (entry.again ?? 0) + 1 })
  }
  await transaction.done
}

export async function keepBody(store: HandStore, id: string, body: Record<string, unknown>): Promise<void> {
  const transaction = store.transaction('entries', 'readwrite')
  const kept = await transaction.store.get(id)
  if (kept) await transaction.store.put({ ...kept, body })
  await transaction.done
}

export async function keepJoined(store: HandStore, id: string, joined: string): Promise<void> {
  const transaction = store.transaction('entries', 'readwrite')
  const kept = await transaction.store.get(id)
  if (kept) await transaction.store.put({ ...kept, joined })
  await transaction.done
}

/** The stoppage that was told of under this id on this phone, as the server knows it. */
export async function joinedTo(store: HandStore, stoppageId: string): Promise<string> {
  const all = await store.getAll('entries')
  return all.find(({ body, joined }) => joined !== undefined && body.id === stoppageId)?.joined ?? stoppageId
}

export async function forgetRefused(store: HandStore, id: string): Promise<void> {
  await forget(store, id)
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

/** What was kept for another person of this phone is theirs: pages of the api go, what the phone knows of itself stays. */
export async function forgetPages(store: HandStore): Promise<void> {
  await forgetSaved(store, () => true)
  const transaction = store.transaction('pages', 'readwrite')
  const keys = (await transaction.store.getAllKeys()).filter((key) => key.startsWith('/api/') || key === 'machines kept')
  await Promise.all([...keys.map((key) => transaction.store.delete(key)), transaction.done])
}

export async function keptPage<T>(store: HandStore, key: string): Promise<{ data: T; at: string } | null> {
  const page = await store.get('pages', key)
  return page ? { data: page.data as T, at: page.at } : null
}
