/** A pass as the worker does it: chunks of machines, in threads, as many at once as it has threads. */
import { type PassRequest, type PassResult, planningWork, type SqlDatabase } from '@tapewarden/persistence/pass'
import { imported } from './support-mail.js'

export interface Planner {
  plan(request: PassRequest): Promise<PassResult>
  close(): Promise<void>
}
interface Threads {
  startPlanner(databaseUrl: string, most: number, onError: (error: Error) => void): Planner
}
interface Chunks {
  CHUNK_MACHINES: number
}

/** As the worker has by default; the worker's own setting changes it. */
export const THREADS = Number(process.env.PLANNING_THREADS ?? 1)

export async function plannerOver(databaseUrl: string, threads = THREADS): Promise<Planner> {
  const { startPlanner } = await imported<Threads>('apps/worker/dist/planning/planner-threads.js')
  return startPlanner(databaseUrl, threads, (error) => console.error(error))
}

/** @returns what each chunk did, in no order */
export async function passInThreads(database: SqlDatabase, planner: Planner, request: PassRequest): Promise<PassResult[]> {
  const { CHUNK_MACHINES } = await imported<Chunks>('apps/worker/dist/planning/chunks.js')
  const work = await planningWork(database, request.organisationId, request.warehouseId)
  const machineIds = work?.machineIds ?? []
  const chunks: string[][] = []
  for (let from = 0; from < machineIds.length; from += CHUNK_MACHINES) chunks.push(machineIds.slice(from, from + CHUNK_MACHINES))
  return Promise.all(chunks.map((chunk) => planner.plan({ ...request, machineIds: chunk })))
}

/** The sum of one of the pass's figures. */
export function total(results: readonly PassResult[], figure: Exclude<keyof PassResult, 'problems'>): number {
  return results.reduce((sum, result) => sum + result[figure], 0)
}
