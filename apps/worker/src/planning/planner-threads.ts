import type { PassRequest, PassResult } from '@tapewarden/persistence/sql'
import { Piscina } from 'piscina'

export interface ThreadSettings {
  databaseUrl: string
}

export interface Planner {
  plan(request: PassRequest): Promise<PassResult>
  close(): Promise<void>
}

/** A thread that has planned nothing for so long ends, and its memory with it; the next chunk starts another. */
const IDLE_MS = 60_000

/**
 * Plans in threads: a chunk computes for most of a second, and what else the process does (leases, locks, health) must
 * not wait for it. Each thread has one chunk at a time; what is asked for beyond that waits.
 * @param most  threads at once
 * @param onError  a thread that ended by itself; its chunk, where it had one, fails as well
 */
export function startPlanner(databaseUrl: string, most: number, onError: (error: Error) => void): Planner {
  const threads = new Piscina<PassRequest, PassResult>({
    filename: new URL('./planner-thread.js', import.meta.url).href,
    workerData: { databaseUrl } satisfies ThreadSettings,
    minThreads: 0,
    maxThreads: most,
    idleTimeout: IDLE_MS,
  })
  threads.on('error', onError)
  return {
    plan: (request) => threads.run(request),
    close: () => threads.close(),
  }
}
