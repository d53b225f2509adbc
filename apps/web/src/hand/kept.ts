/** React's view of what is kept: counts, sending on start, on return of the network and after each entry; pages with their age. */
import { createContext, useCallback, useContext, useEffect, useRef, useState } from 'react'
import { countKept, entriesToSend, type HandStore, keepEntry, keepPage, keptPage, type KeptEntry, sendKept, takeBack } from './outbox.js'
import { ask, Away, sendEntry } from './server.js'

export interface Keeping {
  store: HandStore
  waiting: number
  entries: KeptEntry[]
  refused: KeptEntry[]
  online: boolean
  keep: (entry: Pick<KeptEntry, 'kind' | 'workOrderId' | 'path' | 'secret' | 'body'>) => Promise<void>
  /** false: the server has it already. */
  takeBack: (entryId: string) => Promise<boolean>
  again: () => Promise<void>
  /** The server's page was read after the newest saving. */
  pageSeen: () => void
  /** Goes up whenever the server has taken something in. */
  savedRounds: number
}

export const KeepingContext = createContext<Keeping | null>(null)

export function useKeeping(): Keeping {
  const keeping = useContext(KeepingContext)
  if (!keeping) throw new Error('Nothing can be kept here.')
  return keeping
}

export function useKeepingOf(store: HandStore | null): Keeping | null {
  const [entries, setEntries] = useState<KeptEntry[]>([])
  const [refused, setRefused] = useState<KeptEntry[]>([])
  const [online, setOnline] = useState(navigator.onLine)
  const [savedRounds, setSavedRounds] = useState(0)
  /** Saved, but not yet seen in a page of the server: shown until then, so that nothing looks unanswered in between. */
  const [justSaved, setJustSaved] = useState<KeptEntry[]>([])
  const look = useCallback(async () => {
    if (!store) return
    setEntries(await entriesToSend(store))
    setRefused((await countKept(store)).refused)
  }, [store])
  const again = useCallback(async () => {
    if (!store) return
    const before = await entriesToSend(store)
    const saved = await sendKept(store, sendEntry)
    if (saved > 0) {
      const left = new Set((await store.getAll('entries')).map(({ id }) => id))
      setJustSaved((list) => [...list, ...before.filter(({ id }) => !left.has(id))])
    }
    await look()
    if (saved > 0) setSavedRounds((count) => count + 1)
  }, [store, look])
  useEffect(() => {
    void look().then(again)
    const back = (): void => {
      setOnline(true)
      void again()
    }
    const gone = (): void => setOnline(false)
    const seen = (): void => void (document.visibilityState === 'visible' && again())
    addEventListener('online', back)
    addEventListener('offline', gone)
    document.addEventListener('visibilitychange', seen)
    const beat = setInterval(() => void again(), 20_000)
    return () => {
      removeEventListener('online', back)
      removeEventListener('offline', gone)
      document.removeEventListener('visibilitychange', seen)
      clearInterval(beat)
    }
  }, [look, again])
  if (!store) return null
  const keep: Keeping['keep'] = async (entry) => {
    const id = crypto.randomUUID()
    const madeAt = new Date().toISOString()
    await keepEntry(store, { ...entry, id, body: { ...entry.body, ...namesOf(entry.kind, id, madeAt) }, keptAt: madeAt })
    await look()
    void again()
  }
  const back: Keeping['takeBack'] = async (entryId) => {
    const taken = await takeBack(store, entryId)
    await look()
    return taken
  }
  const shown = [...justSaved.filter(({ id }) => entries.every((entry) => entry.id !== id)), ...entries]
  const pageSeen = (): void => setJustSaved((list) => (list.length === 0 ? list : []))
  return { store, entries: shown, waiting: entries.length, pageSeen, refused, online, keep, takeBack: back, again, savedRounds }
}

/** A 'post' names itself in its body as its route asks. */
function namesOf(kind: KeptEntry['kind'], id: string, madeAt: string): Record<string, string> {
  if (kind === 'post') return {}
  return kind === 'work' ? { id, madeAt } : { entryId: id, madeAt }
}

export interface Page<T> {
  data: T | null
  /** Instant of the answer that is shown. */
  at: string | null
  error: Error | null
  again: () => void
}

/** Brings pages onto the phone before they are needed, one after another, so that they open without a network. */
export async function bringPages(store: HandStore, paths: readonly string[]): Promise<void> {
  for (const path of paths) {
    try {
      await keepPage(store, path, await ask('GET', path), new Date().toISOString())
    } catch (error) {
      if (error instanceof Away) return
    }
  }
}

/** The server's answer, or the last one kept on this phone with its age. */
export function usePage<T>(path: string, headers?: Record<string, string>): Page<T> {
  const { store, savedRounds, pageSeen } = useKeeping()
  const seen = useRef(pageSeen)
  seen.current = pageSeen
  const [page, setPage] = useState<Omit<Page<T>, 'again'>>({ data: null, at: null, error: null })
  const load = useCallback(async () => {
    try {
      const data = await ask<T>('GET', path, undefined, headers)
      const at = new Date().toISOString()
      await keepPage(store, path, data, at)
      setPage({ data, at, error: null })
      seen.current()
    } catch (error) {
      const kept = await keptPage<T>(store, path)
      setPage({ data: kept?.data ?? null, at: kept?.at ?? null, error: kept && error instanceof Away ? null : (error as Error) })
    }
  }, [path, store])
  useEffect(() => void load(), [load, savedRounds])
  return { ...page, again: () => void load() }
}
