import { afterAll, beforeAll, expect, it } from '@jest/globals'
import { createTestDatabase, type TestDatabase } from '../../../../tests/support/database.js'
import { smallOrganisation } from '../../../../tests/support/organisation.js'
import { Database } from '../database.js'
import { insertAllRows } from '../insert-rows.js'
import { dayNumber } from './days.js'
import { lifeOfPass } from './life-of-pass.js'
import { readLife } from './read-life.js'
import type { WarehouseFacts } from './read-warehouse.js'

const small = smallOrganisation('life')
const TODAY = '2026-03-09'
/** A plan with one look at the blade by its life. */
const facts = {
  warehouseId: small.ids.warehouse,
  taskById: new Map([['look', { componentKey: 'blade', triggers: [{ kind: 'life', failedFraction: 0.1 }] }]]),
} as unknown as WarehouseFacts
let test: TestDatabase
let database: Database

beforeAll(async () => {
  test = await createTestDatabase()
  database = await Database.open({ url: test.appUrl, applicationName: 'test' })
  const chunk = { warehouse_id: small.ids.warehouse, planned_for: TODAY, evidence_version: 7, created_at: '2026-03-09T05:00:00Z' }
  await database.withOrganisationSql(small.organisationId, async (scope) => {
    await insertAllRows(scope, small.rows)
    await insertAllRows(scope, { planning_chunk: [0, 1].map((position) => ({ ...chunk, position, machine_ids: [small.ids.machine] })) })
  })
})
afterAll(async () => {
  await database.close()
  await test.drop()
})

const ask = (position: number) =>
  database.withOrganisationSql(small.organisationId, async (scope) => {
    const life = await lifeOfPass(scope, facts, TODAY, dayNumber(TODAY), { evidenceVersion: 7, position })
    return { life, statements: scope.statements }
  })

it('is worked out by the first chunk and read by the others, to the last digit', async () => {
  const worked = await database.withOrganisationSql(small.organisationId, (scope) => readLife(scope, facts, dayNumber(TODAY)))
  expect(worked.blade?.scaleYears).toBeGreaterThan(5)
  expect(await ask(1)).toEqual({ life: worked, statements: 3 })
  expect(await ask(0)).toEqual({ life: worked, statements: 1 })
  expect(await ask(1)).toEqual({ life: worked, statements: 1 })
})
