import type { Mailer } from '@tapewarden/messaging'
import type { SqlDatabase } from '@tapewarden/persistence/sql'
import type { Clock, Logger } from '@tapewarden/platform'
import type { JobQueue } from '@tapewarden/queues'
import type { Crash } from './crash-points.js'
import type { WorkerSettings } from './settings.js'

/** The planning pass over some machines of a warehouse, as libs/persistence runs it. */
export type RunPass = (ask: {
  organisationId: string
  warehouseId: string
  machineIds: readonly string[]
  chunk?: { evidenceVersion: number; position: number }
  today: string
  now: Date
}) => Promise<{ summary: string }>

/** What every handler is given. */
export interface WorkerParts {
  database: SqlDatabase
  clock: Clock
  queue: JobQueue
  mailer: Mailer
  log: Logger
  settings: WorkerSettings
  runPass: RunPass
  crash: Crash
}
