/**
 * A shared tablet: its own secret, and for each person whose code the server has checked here the key of their turn, locked with that
 * code. Without a network the code opens the key or it does not. So an entry made offline can be sent under a name only where that
 * person's code was typed; whoever takes the tablet apart can try all codes on the locked key, which is why a lost one is ended.
 */
import { bindToTurn, type HandStore, keepPage, keptPage } from './outbox.js'
import { ask, Away, TABLET_HEADER, type Turn } from './server.js'

export interface ThisTablet {
  id: string
  name: string
  warehouse: { id: string; name: string }
  people: { id: string; name: string; hasCode: boolean }[]
}
interface LockedKey {
  salt: Uint8Array<ArrayBuffer>
  iv: Uint8Array<ArrayBuffer>
  locked: ArrayBuffer
  name: string
}

const SECRET = 'tablet'
const PEOPLE = 'tablet people'
const keyName = (personId: string): string => `turn key ${personId}`
const triesName = (personId: string): string => `turn tries ${personId}`
/** OWASP's figure for PBKDF2 with SHA-256 (2023); about half a second on a cheap tablet. */
const ITERATIONS = 600_000
const FREE_TRIES = 5
const LONGEST_WAIT_MS = 3_600_000

export const tabletSecret = async (store: HandStore): Promise<string | null> => (await keptPage<string>(store, SECRET))?.data ?? null

export async function becomeTablet(store: HandStore, secret: string): Promise<void> {
  await keepPage(store, SECRET, secret, new Date().toISOString())
  // So that public/early.js asks for nothing that a tablet has no session for.
  localStorage.setItem('tapewarden-goes-by', 'tablet')
}

/** One person's phone again; what was typed here and not sent stays, and waits for its person to sign in. */
export async function stopBeingTablet(store: HandStore): Promise<void> {
  localStorage.removeItem('tapewarden-goes-by')
  const transaction = store.transaction('pages', 'readwrite')
  const keys = (await transaction.store.getAllKeys()).filter((key) => key.startsWith(SECRET) || key.startsWith('turn '))
  await Promise.all([...keys.map((key) => transaction.store.delete(key)), transaction.done])
}

export interface Workers {
  tablet: ThisTablet
  /** Their code was checked here before, so they can begin without a network. */
  knownHere: ReadonlySet<string>
  online: boolean
}

/** @throws SignedOut where the tablet was ended; Away where it was never asked before and there is no network */
export async function whoMayWork(store: HandStore, secret: string): Promise<Workers> {
  const keys = (await store.getAllKeys('pages')).filter((key) => key.startsWith('turn key '))
  const knownHere = new Set(keys.map((key) => key.slice('turn key '.length)))
  try {
    const tablet = await ask<ThisTablet>('GET', '/api/v1/this-tablet', undefined, { [TABLET_HEADER]: secret })
    await keepPage(store, PEOPLE, tablet, new Date().toISOString())
    return { tablet, knownHere, online: true }
  } catch (error) {
    const kept = error instanceof Away ? await keptPage<ThisTablet>(store, PEOPLE) : null
    if (!kept) throw error
    return { tablet: kept.data, knownHere, online: false }
  }
}

async function keyOf(code: string, salt: Uint8Array<ArrayBuffer>): Promise<CryptoKey> {
  const typed = await crypto.subtle.importKey('raw', new TextEncoder().encode(code), 'PBKDF2', false, ['deriveKey'])
  const how = { name: 'PBKDF2', hash: 'SHA-256', salt, iterations: ITERATIONS }
  return crypto.subtle.deriveKey(how, typed, { name: 'AES-GCM', length: 256 }, false, ['encrypt', 'decrypt'])
}

async function lockKey(store: HandStore, code: string, turn: Turn): Promise<void> {
  const salt = crypto.getRandomValues(new Uint8Array(16))
  const iv = crypto.getRandomValues(new Uint8Array(12))
  const locked = await crypto.subtle.encrypt({ name: 'AES-GCM', iv }, await keyOf(code, salt), new TextEncoder().encode(turn.secret))
  const key: LockedKey = { salt, iv, locked, name: turn.name }
  await keepPage(store, keyName(turn.personId), key, new Date().toISOString())
}

interface Tries {
  wrong: number
  /** Milliseconds since 1970. */
  waitsUntil: number
}

/** As the server counts, as far as a tablet alone can: whoever holds it can clear the count. */
async function countWrong(store: HandStore, personId: string): Promise<void> {
  const before = (await keptPage<Tries>(store, triesName(personId)))?.data.wrong ?? 0
  const wrong = before + 1
  const waitMs = wrong < FREE_TRIES ? 0 : Math.min(LONGEST_WAIT_MS, 60_000 * 2 ** (wrong - FREE_TRIES))
  await keepPage(store, triesName(personId), { wrong, waitsUntil: Date.now() + waitMs }, new Date().toISOString())
}

async function openKey(store: HandStore, personId: string, code: string): Promise<Turn> {
  const kept = await keptPage<LockedKey>(store, keyName(personId))
  if (!kept) throw new Error('No network, and this code was never checked on this tablet. It can be checked once the network is there.')
  const tries = (await keptPage<Tries>(store, triesName(personId)))?.data
  const waitMs = (tries?.waitsUntil ?? 0) - Date.now()
  if (waitMs > 0)
    throw new Error(
      `Too many wrong codes for ${kept.data.name}: the next try is free in ${Math.ceil(waitMs / 60_000)} minutes. Everybody else can go on.`,
    )
  const { salt, iv, locked, name } = kept.data
  try {
    const secret = await crypto.subtle.decrypt({ name: 'AES-GCM', iv }, await keyOf(code, salt), locked)
    await store.delete('pages', triesName(personId))
    return { secret: new TextDecoder().decode(secret), personId, name }
  } catch {
    await countWrong(store, personId)
    throw new Error(`This is not the code of ${name}.`)
  }
}

/** @throws Error in words for the screen */
export async function beginTurn(store: HandStore, tabletOwn: string, personId: string, code: string): Promise<Turn> {
  let turn: Turn
  try {
    const given = await ask<{ secret: string; person: { id: string; name: string } }>(
      'POST',
      '/api/v1/this-tablet/turns',
      { personId, code },
      { [TABLET_HEADER]: tabletOwn },
    )
    turn = { secret: given.secret, personId, name: given.person.name }
  } catch (error) {
    if (!(error instanceof Away)) throw error
    return openKey(store, personId, code)
  }
  // A tablet that is full still begins the turn; without a network this person must then wait for it.
  await lockKey(store, code, turn).catch(() => undefined)
  await store.delete('pages', triesName(personId))
  await bindToTurn(store, personId, turn.secret)
  return turn
}
