/** A part's strips are two looks into the ledger, however long it is: behind row-level security not every expression may use the index. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'
import { yearsOfUse } from '@tapewarden/persistence'
import { USED_STRIPS } from './components.js'

const DAYS = 1000
let api: TestApi
let us: ApiOrganisation

beforeAll(async () => {
  api = await startTestApi('2026-06-01T10:00:00Z')
  us = await makeOrganisation(api, 'north')
  await api.database.withOrganisationSql(us.organisationId, async (scope) => {
    const of = [us.organisationId, us.machineId]
    await scope.run(`UPDATE machine_type SET blade_life_unit = 'strips' WHERE organisation_id = $1`, [us.organisationId])
    await scope.run(
      `INSERT INTO ledger_day (organisation_id, warehouse_id, machine_id, day, strips, metres, motor_minutes, strips_total, kind, relative_error)
       SELECT $1, $3, $2, date '2026-05-31' - n, 10, 1, 1, 50000 - 10 * n, 'strips', 0 FROM generate_series(0, ${DAYS - 1}) n`,
      [...of, us.north],
    )
    const type = `(SELECT id FROM component_type WHERE organisation_id = $1 AND key = 'blade')`
    for (const [fittedOn, removedOn] of [
      [null, '2024-01-01'],
      ['2020-03-01', null],
      ['2024-01-02', '2024-02-01'],
    ]) {
      const id = newId()
      await scope.run(
        `INSERT INTO component (organisation_id, id, component_type_id, new_on, counts_in_life_data) VALUES ($1, $2, ${type}, $3, true)`,
        [us.organisationId, id, fittedOn ?? null],
      )
      await scope.run(
        `INSERT INTO component_placement (organisation_id, id, component_id, machine_id, from_date, to_date, removal_reason)
         VALUES ($1, gen_random_uuid(), $3, $2, $4, $5, CASE WHEN $5::date IS NULL THEN NULL ELSE 'worn' END)`,
        [...of, id, fittedOn ?? null, removedOn ?? null],
      )
    }
    await scope.run('ANALYZE ledger_day')
  })
})
afterAll(() => api.close())

interface Plan {
  'Relation Name'?: string
  'Rows Removed by Filter'?: number
  'Actual Rows': number
  'Actual Loops': number
  Plans?: Plan[]
}
/** Rows of the ledger that were looked at, and how many times it was asked. */
function looks(plan: Plan): { rows: number; times: number } {
  const below = (plan.Plans ?? []).map(looks)
  const own =
    plan['Relation Name'] === 'ledger_day' ? plan['Actual Loops'] * (plan['Actual Rows'] + (plan['Rows Removed by Filter'] ?? 0)) : 0
  return {
    rows: below.reduce((sum, one) => sum + one.rows, own),
    times: below.reduce((sum, one) => sum + one.times, plan['Relation Name'] === 'ledger_day' ? plan['Actual Loops'] : 0),
  }
}

describe.each([
  ['the strips that a part has done', USED_STRIPS],
  ['and its years of use', yearsOfUse(`date '2026-06-01'`)],
])('%s', (_what, columns) => {
  it('take a row of the ledger a look', async () => {
    const [row] = await api.database.withOrganisationSql(us.organisationId, (scope) =>
      scope.rows<{ 'QUERY PLAN': [{ Plan: Plan }] }>(
        `EXPLAIN (ANALYZE, FORMAT JSON) SELECT ${columns} FROM component_placement cp JOIN machine m ON m.organisation_id = cp.organisation_id AND m.id = cp.machine_id
         JOIN machine_type mt ON mt.organisation_id = m.organisation_id AND mt.id = m.machine_type_id
         JOIN component c ON c.organisation_id = cp.organisation_id AND c.id = cp.component_id
         JOIN component_type t ON t.organisation_id = c.organisation_id AND t.id = c.component_type_id
         WHERE cp.organisation_id = $1 AND cp.machine_id = $2`,
        [us.organisationId, us.machineId],
      ),
    )
    const { rows, times } = looks((row as { 'QUERY PLAN': [{ Plan: Plan }] })['QUERY PLAN'][0].Plan)
    expect(times).toBeGreaterThanOrEqual(3)
    expect(rows).toBeLessThanOrEqual(2 * times)
  })
})
