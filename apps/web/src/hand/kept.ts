/** React's view of what is kept: counts, sending on start, on return of the network and after each entry; pages with their age. */
import { createContext, useCallback, useContext, useEffect, useRef, useState } from 'react'
import { serverNow } from '../client/clock.js'
import {
  type HandStore,
  instantNow,
  keepEntry,
  keepPage,
  keptPage,
  type KeptEntry,
  mayBeSentBy,
  notInPage,
  type OnPhone,
  readKept,
  sendAgain,
  sendKept,
  type Stopped,
  takeBack,
  whyStopped,
} from './outbox.js'
import { ask, Away, sendEntry, turnNow } from './server.js'
import { type SaidBack, sayKept, settleMissing } from './words.js'

export interface Keeping {
  store: HandStore
  waiting: number
  /** What a page that was asked for at this instant cannot know yet. */
  notIn: (at: string | null) => KeptEntry[]
  refused: KeptEntry[]
  online: boolean
  /** Why what waits has not gone out although there is a network. */
  stopped: Stopped
  keep: (entry: Pick<KeptEntry, 'kind' | 'workOrderId' | 'path' | 'machineId' | 'secret' | 'body'>, picture?: string) => Promise<void>
  /** Said where the phone took the last entry in no more; it is not kept then. */
  notKept: string
  /** false: the server has it already. */
  takeBack: (entryId: string) => Promise<boolean>
  again: () => Promise<void>
  /** Entries of another person on this phone: they wait for that person. */
  ofOthers: number
  signedInAs: (personId: string | null) => void
  /** What the server did not take in goes out again. */
  sendAgain: (entryIds: readonly string[]) => Promise<void>
  /** Goes up whenever the server has taken something in: pages are asked for again. */
  savedRounds: number
  /** What the server knows to be missing of an earlier storage; null: nothing, or it was not asked yet. */
  saidBack: SaidBack | null
  settle: (storageId: string, entryIds: readonly string[]) => Promise<void>
}

export const KeepingContext = createContext<Keeping | null>(null)

export function useKeeping(): Keeping {
  const keeping = useContext(KeepingContext)
  if (!keeping) throw new Error('Nothing can be kept here.')
  return keeping
}

const NOT_KEPT =
  'This phone is full: what you entered last was NOT kept. What stands here as kept is still kept. Make room on the phone, then enter it again.'
const STORAGE_GONE =
  'The storage of this phone cannot be written: it may just have been cleared. What you entered last was NOT kept. Open this page anew; then it says what is missing, as far as that is known.'

const UNREADABLE = 'What is kept on this phone cannot be read just now. Open this page anew.'

const whyNotKept = (error: unknown): string => ((error as Error | null)?.name === 'QuotaExceededError' ? NOT_KEPT : STORAGE_GONE)

/** What one window keeps or sends is heard by the others on this phone: none of them may call saved what is not. */
function useOtherWindows(onChange: () => void): () => void {
  const channel = useRef<BroadcastChannel | null>(null)
  useEffect(() => {
    // Not there in browsers of before 2022: they hear of it with the next beat.
    if (typeof BroadcastChannel !== 'function') return
    const opened = new BroadcastChannel('tapewarden-kept')
    opened.addEventListener('message', onChange)
    channel.current = opened
    return () => {
      channel.current = null
      opened.close()
    }
  }, [onChange])
  return useCallback(() => channel.current?.postMessage(null), [])
}

/** @returns null until it is known what this phone keeps: nothing may call itself saved before */
export function useKeepingOf(store: HandStore | null): Keeping | null {
  const [kept, setKept] = useState<OnPhone | null>(null)
  const [online, setOnline] = useState(navigator.onLine)
  const [personId, setPersonId] = useState<string | null>(null)
  const [notKept, setNotKept] = useState('')
  const [stopped, setStopped] = useState<Stopped>(null)
  const [saidBack, setSaidBack] = useState<SaidBack | null>(null)
  const [savedRounds, setSavedRounds] = useState(0)
  const readAnew = useCallback(async () => {
    if (store) setKept(await readKept(store))
  }, [store])
  const tellOthers = useOtherWindows(useCallback(() => void readAnew().catch(() => undefined), [readAnew]))
  const again = useCallback(async () => {
    if (!store) return
    const heard = (said: SaidBack | null): void => void (said && setSaidBack(said))
    heard(await sayKept(store, 'before sending', personId))
    const saved = await sendKept(store, (entry) => sendEntry(store, entry), personId)
    setKept(await readKept(store))
    setStopped(whyStopped())
    if (saved > 0) setSavedRounds((rounds) => rounds + 1)
    if (saved > 0) tellOthers()
    heard(await sayKept(store, 'after sending', personId))
  }, [store, personId, tellOthers])
  useEffect(() => {
    if (!store) return
    readKept(store).then(setKept, () => {
      setNotKept(UNREADABLE)
      setKept({ entries: [], refused: [], saved: [] })
    })
  }, [store])
  useEffect(() => {
    const beat = (): void => void again()
    const back = (): void => {
      setOnline(true)
      beat()
    }
    const gone = (): void => setOnline(false)
    const seen = (): void => void (document.visibilityState === 'visible' && again())
    const first = setTimeout(beat)
    const every = setInterval(beat, 20_000)
    addEventListener('online', back)
    addEventListener('offline', gone)
    document.addEventListener('visibilitychange', seen)
    return () => {
      clearTimeout(first)
      clearInterval(every)
      removeEventListener('online', back)
      removeEventListener('offline', gone)
      document.removeEventListener('visibilitychange', seen)
    }
  }, [again])
  if (!store || !kept) return null
  const keep: Keeping['keep'] = async (entry, picture) => {
    const id = crypto.randomUUID()
    const madeAt = serverNow()
    const turn = turnNow()
    const by = entry.kind === 'linked_round' || personId === null ? {} : { personId, ...(turn ? { turn: turn.secret } : {}) }
    const whole = { ...entry, ...by, id, body: { ...entry.body, ...namesOf(entry.kind, id, madeAt) }, keptAt: madeAt }
    try {
      await keepEntry(store, whole, picture)
    } catch (error) {
      setNotKept(whyNotKept(error))
      throw error
    }
    setNotKept('')
    await readAnew()
    tellOthers()
    void again()
  }
  const back: Keeping['takeBack'] = async (entryId) => {
    const taken = await takeBack(store, entryId)
    await readAnew()
    tellOthers()
    return taken
  }
  return {
    store,
    waiting: kept.entries.length,
    notIn: (at) => notInPage(kept, at),
    ofOthers: kept.entries.filter((entry) => !mayBeSentBy(entry, personId)).length,
    refused: kept.refused,
    online,
    stopped,
    notKept,
    keep,
    takeBack: back,
    again,
    signedInAs: setPersonId,
    async sendAgain(entryIds) {
      await sendAgain(store, entryIds)
      setKept(await readKept(store))
      await again()
    },
    savedRounds,
    saidBack,
    async settle(storageId, entryIds) {
      await settleMissing(store, storageId, entryIds)
      await again()
    },
  }
}

/** A 'post' names itself in its body as its route asks. */
function namesOf(kind: KeptEntry['kind'], id: string, madeAt: string): Record<string, string> {
  if (kind === 'post') return {}
  return kind === 'work' ? { id, madeAt } : { entryId: id, madeAt }
}

export interface Page<T> {
  data: T | null
  /** When what is shown was asked for. */
  at: string | null
  error: Error | null
  again: () => void
}

const PERSONAL = /^\/api\/v1\/(me|rounds|visits|work-orders)(\?|$)/
/** On a shared tablet one's own lists are kept apart from those of others. */
function keyOf(path: string): string {
  const turn = turnNow()
  return turn && PERSONAL.test(path) ? `${path} of ${turn.personId}` : path
}

/** Brings pages onto the phone before they are needed, one after another, so that they open without a network. */
export async function bringPages(store: HandStore, paths: readonly string[]): Promise<void> {
  for (const path of paths) {
    try {
      const at = instantNow()
      await keepPage(store, keyOf(path), await ask('GET', path), at)
    } catch (error) {
      if (error instanceof Away) return
    }
  }
}

type Read<T> = Omit<Page<T>, 'again'>

async function readPage<T>(store: HandStore, path: string): Promise<Read<T>> {
  try {
    const at = instantNow()
    const data = await ask<T>('GET', path)
    // A phone that is full still shows what the server answered.
    await keepPage(store, keyOf(path), data, at).catch(() => undefined)
    return { data, at, error: null }
  } catch (error) {
    const kept = await keptPage<T>(store, keyOf(path))
    return { data: kept?.data ?? null, at: kept?.at ?? null, error: kept && error instanceof Away ? null : (error as Error) }
  }
}

/** The last answer that is kept on this phone, with its age, at once; then the server's. */
export function usePage<T>(path: string): Page<T> {
  const { store, savedRounds } = useKeeping()
  const [page, setPage] = useState<Read<T>>({ data: null, at: null, error: null })
  const [asked, setAsked] = useState(0)
  useEffect(() => {
    let gone = false
    let answered = false
    const early = keptPage<T>(store, keyOf(path)).catch(() => null)
    void early.then((kept) => {
      if (!gone && !answered && kept) setPage((shown) => (shown.data === null ? { ...kept, error: null } : shown))
    })
    void readPage<T>(store, path).then((read) => {
      answered = true
      if (gone) return
      setPage(read)
    })
    return () => {
      gone = true
    }
  }, [store, path, savedRounds, asked])
  return { ...page, again: () => setAsked((count) => count + 1) }
}
