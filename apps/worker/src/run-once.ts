import { compose } from './composing/compose-messages.js'
import { openChunks } from './planning/chunks.js'
import { planChunk, planWarehouse } from './planning/plan-warehouse.js'
import type { WorkerParts } from './parts.js'
import { send } from './sending/send-message.js'
import { settleMessages } from './sweep/settle.js'

export type Step = 'plan' | 'compose' | 'send' | 'settle'

/** What one step did for one thing, in the words of its job. */
export interface StepResult {
  step: Step
  organisationId: string
  subject: string
  outcome: string
}

async function warehousesOf({ database }: WorkerParts, organisationId: string): Promise<string[]> {
  const rows = await database.withOrganisationSql(organisationId, (scope) =>
    scope.rows<{ id: string }>('SELECT id FROM warehouse WHERE organisation_id = $1 ORDER BY id', [organisationId]),
  )
  return rows.map(({ id }) => id)
}

async function planHere(parts: WorkerParts, organisationId: string, warehouseId: string): Promise<string> {
  const why = await planWarehouse(parts).handle({ v: 1, organisationId, warehouseId })
  const now = await parts.clock.now()
  const chunks = await parts.database.withOrganisationSql(organisationId, async (scope) => {
    const [row] = await scope.rows<{ day: string | null }>(
      'SELECT max(planned_for) AS day FROM planning_chunk WHERE organisation_id = $1 AND warehouse_id = $2',
      [organisationId, warehouseId],
    )
    return row?.day ? openChunks(scope, warehouseId, row.day, now) : []
  })
  const outcomes = [why]
  for (const chunk of chunks) outcomes.push(await planChunk(parts).handle({ v: 1, organisationId, warehouseId, ...chunk }))
  return outcomes.join('; ')
}

async function dueMessages({ database, clock }: WorkerParts, organisationId: string): Promise<string[]> {
  const now = await clock.now()
  const rows = await database.withOrganisationSql(organisationId, (scope) =>
    scope.rows<{ id: string }>(`SELECT id FROM message WHERE organisation_id = $1 AND state = 'pending' AND send_after <= $2 ORDER BY id`, [
      organisationId,
      now,
    ]),
  )
  return rows.map(({ id }) => id)
}

async function stepOf(parts: WorkerParts, step: Step, organisationId: string): Promise<StepResult[]> {
  const results: StepResult[] = []
  const note = (subject: string, outcome: string) => results.push({ step, organisationId, subject, outcome })
  if (step === 'settle') {
    const now = await parts.clock.now()
    const settled = await parts.database.withOrganisationSql(organisationId, (scope) => settleMessages(scope, now))
    note('messages', `${settled.uncertain} uncertain, ${settled.released} free again, ${settled.expired} ended`)
  } else if (step === 'send') for (const id of await dueMessages(parts, organisationId)) note(id, await send(parts, organisationId, id))
  else
    for (const id of await warehousesOf(parts, organisationId))
      note(id, step === 'plan' ? await planHere(parts, organisationId, id) : (await compose(parts, organisationId, id)).why)
  return results
}

/** Does one step for every organisation without waiting for any job or schedule; for tests and by hand. */
export async function runOnce(parts: WorkerParts, { step }: { step: Step }): Promise<StepResult[]> {
  const results: StepResult[] = []
  for (const organisationId of await parts.database.organisations()) results.push(...(await stepOf(parts, step, organisationId)))
  return results
}
