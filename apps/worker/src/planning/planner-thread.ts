/** A thread that plans chunks of machines, one after the other, over connections of its own. */
import { type PassRequest, type PassResult, runPlanningPass, SqlDatabase } from '@tapewarden/persistence/pass'
import { workerData } from 'piscina'
import type { ThreadSettings } from './planner-threads.js'

const { databaseUrl } = workerData as ThreadSettings
let opened: SqlDatabase | null = null

/** Opened by the first chunk and not before: a database that is away fails that chunk, not the thread. */
export default async function plan(request: PassRequest): Promise<PassResult> {
  opened ??= await SqlDatabase.open({ url: databaseUrl, applicationName: 'tapewarden planner', most: 2 })
  return runPlanningPass(opened, request)
}
