/** While there is a network the phone says what it still keeps, so that after its storage was cleared the server can name what is missing. */
import { serverMs } from '../client/clock.js'
import { type HandStore, keepPage, keptPage, type KeptEntry, readKept } from './outbox.js'
import { ask } from './server.js'
import { whatOf } from './what.js'

export interface Missing {
  id: string
  what: string
  madeAt: string
  storageId: string
  saidAt: string
  ofThisPhone: boolean
}
export interface SaidBack {
  cleared: { storageId: string; lastSaidAt: string } | null
  missing: Missing[]
}

/** Of this storage, gone with it. */
const STORAGE_ID = 'storage id'
/** An unchanged word is said again after so long, so that the time of the last word is not old. */
const AGAIN_AFTER_MS = 10 * 60_000
/** A single entry that is sent within this time needs no word before. */
const YOUNG_MS = 10_000

async function storageIdOf(store: HandStore): Promise<string> {
  const kept = await keptPage<string>(store, STORAGE_ID)
  if (kept) return kept.data
  const id = crypto.randomUUID()
  await keepPage(store, STORAGE_ID, id, new Date().toISOString())
  return id
}

interface Word {
  ids: string
  atMs: number
  by: string
}
/** Of each open storage: what was said last, and heard. */
const lastWord = new WeakMap<HandStore, Word>()

/** Is there anything new to say? Before sending only where more is at stake than the entry just typed. */
function isNews(own: readonly KeptEntry[], waiting: readonly KeptEntry[], last: Word | undefined, when: When, now: Saying): boolean {
  if (last?.by !== now.personId || now.nowMs - last.atMs > AGAIN_AFTER_MS) return true
  if (idsOf(own) === last.ids) return false
  if (when === 'after sending') return true
  return waiting.length > 1 || waiting.some(({ keptAt }) => now.nowMs - Date.parse(keptAt) > YOUNG_MS)
}

const idsOf = (kept: readonly { id: string }[]): string => kept.map(({ id }) => id).join(' ')
const MOST = 500
type When = 'before sending' | 'after sending'
interface Saying {
  personId: string
  nowMs: number
}

/**
 * @param personId whose session or turn it is
 * @returns what the server knows to be missing; null: nothing was said, or nothing was heard
 */
export async function sayKept(store: HandStore, when: When, personId: string | null, nowMs = serverMs()): Promise<SaidBack | null> {
  if (personId === null) return null
  try {
    const { entries: waiting, refused } = await readKept(store)
    const own = [...waiting, ...refused].filter((entry) => entry.personId === personId).slice(0, MOST)
    if (!isNews(own, waiting, lastWord.get(store), when, { personId, nowMs })) return null
    const kept = await Promise.all(own.map(async (entry) => ({ id: entry.id, madeAt: entry.keptAt, what: await whatOf(store, entry) })))
    const said = await ask<SaidBack>('POST', '/api/v1/phone-words', { storageId: await storageIdOf(store), kept })
    lastWord.set(store, { ids: idsOf(own), atMs: nowMs, by: personId })
    return said
  } catch {
    // Said again with the next beat; no entry waits for it.
    return null
  }
}

/** A person has seen what is missing of a storage. */
export async function settleMissing(store: HandStore, storageId: string, entryIds: readonly string[]): Promise<void> {
  await ask('POST', `/api/v1/phone-words/${storageId}/settling`, { entryIds })
  lastWord.delete(store)
}
