/** A pass as the worker does it: chunks of machines, in threads, as many at once as it has threads. */
import { availableParallelism } from 'node:os'
import type { PassRequest, PassResult, SqlDatabase } from '@tapewarden/persistence/pass'
import { imported } from './support-mail.js'

export interface Planner {
  plan(request: PassRequest): Promise<PassResult>
  close(): Promise<void>
}
interface Threads {
  startPlanner(databaseUrl: string, most: number, onError: (error: Error) => void): Planner
}
interface ChunkKey {
  plannedFor: string
  evidenceVersion: number
  position: number
}
interface Chunks {
  cutChunks(scope: unknown, warehouseId: string, pass: { plannedFor: string; evidenceVersion: number; now: Date }): Promise<ChunkKey[]>
  readChunk(scope: unknown, warehouseId: string, key: ChunkKey): Promise<{ machineIds: string[] } | null>
}

/** As the worker has by default; the worker's own setting changes it. */
export const THREADS = Number(process.env.PLANNING_THREADS ?? Math.min(2, availableParallelism()))

export async function plannerOver(databaseUrl: string, threads = THREADS): Promise<Planner> {
  const { startPlanner } = await imported<Threads>('apps/worker/dist/planning/planner-threads.js')
  return startPlanner(databaseUrl, threads, (error) => console.error(error))
}

/** @returns what each chunk did, in no order */
export async function passInThreads(database: SqlDatabase, planner: Planner, request: PassRequest): Promise<PassResult[]> {
  const { cutChunks, readChunk } = await imported<Chunks>('apps/worker/dist/planning/chunks.js')
  const { organisationId, warehouseId, today, now } = request
  const inScope = <Answer>(work: (scope: unknown) => Promise<Answer>) => database.withOrganisationSql(organisationId, work)
  const chunks = await inScope((scope) => cutChunks(scope, warehouseId, { plannedFor: today, evidenceVersion: 1, now }))
  const planned = chunks.map(async ({ evidenceVersion, position, plannedFor }) => {
    const chunk = await inScope((scope) => readChunk(scope, warehouseId, { plannedFor, evidenceVersion, position }))
    if (!chunk) throw new Error('a chunk is gone')
    return planner.plan({ ...request, machineIds: chunk.machineIds, chunk: { evidenceVersion, position } })
  })
  return Promise.all(planned)
}

/** The sum of one of the pass's figures. */
export function total(results: readonly PassResult[], figure: Exclude<keyof PassResult, 'problems'>): number {
  return results.reduce((sum, result) => sum + result[figure], 0)
}
