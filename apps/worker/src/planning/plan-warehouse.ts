import { instantToLocalDate } from '@tapewarden/scheduling'
import { enqueuePlanning, type JobHandler, type JobToAdd } from '@tapewarden/queues'
import type { WorkerParts } from '../parts.js'
import { type ChunkKey, cutChunks, endChunk, lockWarehouse, markPlanned, openChunks, readChunk } from './chunks.js'

interface Cut {
  why: string
  chunks: ChunkKey[]
}

async function cut({ database }: WorkerParts, organisationId: string, warehouseId: string, now: Date): Promise<Cut> {
  return database.withOrganisationSql(organisationId, async (scope) => {
    const warehouse = await lockWarehouse(scope, warehouseId)
    if (!warehouse) return { why: 'gone', chunks: [] }
    const today = instantToLocalDate(warehouse.zone, now.getTime())
    const upToDate = warehouse.planned_on !== null && warehouse.planned_on >= today
    if (upToDate && warehouse.planned_version >= warehouse.evidence_version) return { why: 'nothing changed', chunks: [] }
    const open = await openChunks(scope, warehouseId, today, now)
    if (open.length > 0) return { why: 'a pass is under way', chunks: open }
    const pass = { plannedFor: today, evidenceVersion: warehouse.evidence_version, now }
    const chunks = await cutChunks(scope, warehouseId, pass)
    if (chunks.length === 0) await markPlanned(scope, warehouseId, pass)
    return { why: 'cut', chunks }
  })
}

/** Two deliveries of one chunk within its minute are one job; a later sweep may bring it again. */
function chunkJob(organisationId: string, warehouseId: string, chunk: ChunkKey, now: Date): JobToAdd {
  const minute = Math.floor(now.getTime() / 60_000)
  return {
    name: 'plan_chunk',
    input: { organisationId, warehouseId, ...chunk },
    options: { key: `${warehouseId}-${chunk.plannedFor}-${chunk.evidenceVersion}-${chunk.position}-${minute}` },
  }
}

/** Runs where a warehouse's dates are behind its evidence or its calendar day, and says so where they are not. */
export function planWarehouse(parts: WorkerParts): JobHandler<'plan_warehouse'> {
  return {
    name: 'plan_warehouse',
    async handle({ organisationId, warehouseId }) {
      const now = await parts.clock.now()
      const { why, chunks } = await cut(parts, organisationId, warehouseId, now)
      if (chunks.length === 0) return why
      await parts.queue.enqueueAll(chunks.map((chunk) => chunkJob(organisationId, warehouseId, chunk, now)))
      return `${why}: ${chunks.length} chunks`
    },
  }
}

/** Computes one chunk. The pass itself writes only what changed, so a second run of the same chunk writes nothing. */
export function planChunk(parts: WorkerParts): JobHandler<'plan_chunk'> {
  return {
    name: 'plan_chunk',
    async handle({ organisationId, warehouseId, plannedFor, evidenceVersion, position }) {
      const key: ChunkKey = { plannedFor, evidenceVersion, position }
      const chunk = await parts.database.withOrganisationSql(organisationId, (scope) => readChunk(scope, warehouseId, key))
      if (!chunk) return 'superseded'
      if (chunk.done) return 'done already'
      const now = await parts.clock.now()
      const { summary } = await parts.runPass({
        organisationId,
        warehouseId,
        machineIds: chunk.machineIds,
        chunk: { evidenceVersion, position },
        today: plannedFor,
        now,
      })
      parts.crash('before_chunk_done')
      const end = await parts.database.withOrganisationSql(organisationId, (scope) => endChunk(scope, warehouseId, key, now))
      parts.crash('after_chunk_done')
      if (end === 'pass ended') {
        await parts.queue.enqueue('compose_messages', { organisationId, warehouseId })
        // Evidence that came meanwhile; where there is none the handler says so.
        await enqueuePlanning(parts.queue, organisationId, warehouseId)
      }
      return `${end}: ${summary}`
    },
  }
}
