/** React's view of what is kept: counts, sending on start, on return of the network and after each entry; pages with their age. */
import { createContext, useCallback, useContext, useEffect, useState } from 'react'
import { countKept, entriesToSend, type HandStore, keepEntry, keepPage, keptPage, type KeptEntry, sendKept } from './outbox.js'
import { ask, Away, sendEntry } from './server.js'

export interface Keeping {
  store: HandStore
  waiting: number
  entries: KeptEntry[]
  refused: KeptEntry[]
  online: boolean
  keep: (entry: Pick<KeptEntry, 'kind' | 'workOrderId' | 'body'>) => Promise<void>
  again: () => Promise<void>
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
  const look = useCallback(async () => {
    if (!store) return
    setEntries(await entriesToSend(store))
    setRefused((await countKept(store)).refused)
  }, [store])
  const again = useCallback(async () => {
    if (!store) return
    const saved = await sendKept(store, sendEntry)
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
    const named = entry.kind === 'round' ? { entryId: id, madeAt } : { id, madeAt }
    await keepEntry(store, { ...entry, id, body: { ...entry.body, ...named }, keptAt: madeAt })
    await look()
    void again()
  }
  return { store, entries, waiting: entries.length, refused, online, keep, again, savedRounds }
}

export interface Page<T> {
  data: T | null
  /** Instant of the answer that is shown. */
  at: string | null
  error: Error | null
  again: () => void
}

/** The server's answer, or the last one kept on this phone with its age. */
export function usePage<T>(path: string): Page<T> {
  const { store, savedRounds } = useKeeping()
  const [page, setPage] = useState<Omit<Page<T>, 'again'>>({ data: null, at: null, error: null })
  const load = useCallback(async () => {
    try {
      const data = await ask<T>('GET', path)
      const at = new Date().toISOString()
      await keepPage(store, path, data, at)
      setPage({ data, at, error: null })
    } catch (error) {
      const kept = await keptPage<T>(store, path)
      setPage({ data: kept?.data ?? null, at: kept?.at ?? null, error: kept && error instanceof Away ? null : (error as Error) })
    }
  }, [path, store])
  useEffect(() => void load(), [load, savedRounds])
  return { ...page, again: () => void load() }
}
