import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { createTestDatabase, type TestDatabase } from '../../../../tests/support/database.js'
import { fleetRows } from '../../../../tests/support/fleet.js'
import { smallOrganisation } from '../../../../tests/support/organisation.js'
import { Database } from '../database.js'
import { insertAllRows } from '../insert-rows.js'
import { newId } from '@tapewarden/platform'
import { scoreDates } from './score-dates.js'

let test: TestDatabase
let database: Database
const us = smallOrganisation('look')
const MACHINES = 3
const DONE = ['2026-03-21', '2026-04-10', '2026-04-30']

const sql = <Row extends Record<string, unknown>>(text: string, values: (string | number)[] = []) =>
  database.withOrganisationSql(us.organisationId, (scope) => scope.rows<Row>(text, [us.organisationId, ...values]))
const night = (today: string) => scoreDates(database, { organisationId: us.organisationId, warehouseId: us.ids.warehouse, today })
const rows = () =>
  sql<{ machine: string; done: string; early: string; likely: string; late: string; true: string }>(
    `SELECT machine_id AS machine, done_on::text AS done, early_on::text AS early, likely_on::text AS likely, late_on::text AS late, true_on::text AS true
     FROM scored_date WHERE organisation_id = $1 ORDER BY done_on, machine_id`,
  )

/** 100 strips each day, a task every 2000: twenty days from one to the next. */
beforeAll(async () => {
  test = await createTestDatabase()
  database = await Database.open({ url: test.appUrl, applicationName: 'looking back', most: 3 })
  const fleet = fleetRows(us, MACHINES, 110)
  const { scored_date: _scored, service_record: _records, ...kept } = us.rows
  await database.withOrganisationSql(us.organisationId, async (scope) => {
    await insertAllRows(scope, kept)
    await insertAllRows(scope, fleet.rows)
    await insertAllRows(scope, {
      service_record: fleet.machineIds.flatMap((machine_id) =>
        DONE.map((done_on) => ({
          id: newId(),
          machine_id,
          service_task_id: us.ids.task,
          done_on,
          done_at: `${done_on}T10:00:00Z`,
          source: 'import',
          anchor_on: done_on,
          created_at: `${done_on}T10:00:00Z`,
        })),
      ),
    })
    await scope.run(`UPDATE plan_task SET triggers = '[{"kind": "calendar", "months": 6, "mode": "nominal"}]' WHERE organisation_id = $1`, [
      us.organisationId,
    ])
  })
})
afterAll(async () => {
  await database.close()
  await test.drop()
})

describe('the nightly look back', () => {
  it('leaves dates by the calendar alone out', async () => {
    expect(await night('2026-06-19')).toEqual({ scored: 0, withoutForecast: 0, removed: 0 })
    expect(await rows()).toEqual([])
  })

  it('scores each reset by use once: what was said on the day after, and the day on which the use was reached', async () => {
    await sql(
      `UPDATE plan_task SET triggers = '[{"kind": "usage", "unit": "strips", "amount": 2000}]' WHERE organisation_id = $1 RETURNING id`,
    )
    expect(await night('2026-06-20')).toEqual({ scored: MACHINES * DONE.length, withoutForecast: 0, removed: 0 })
    const found = await rows()
    // 100 a day from the day after: the 20th day has the 2000th.
    expect([...new Set(found.map((row) => `${row.done} ${row.true}`))]).toEqual([
      '2026-03-21 2026-04-10',
      '2026-04-10 2026-04-30',
      '2026-04-30 2026-05-20',
    ])
    for (const { early, likely, late, done } of found) {
      expect(early > done && early <= likely && likely <= late).toBe(true)
    }
  })

  it('does nothing twice, and nothing again the next night', async () => {
    expect(await night('2026-06-20')).toBe('done already')
    const before = await rows()
    expect(await night('2026-06-21')).toEqual({ scored: 0, withoutForecast: 0, removed: 0 })
    expect(await rows()).toEqual(before)
    expect(await Promise.all([night('2026-06-22'), night('2026-06-22')])).toContainEqual({ scored: 0, withoutForecast: 0, removed: 0 })
  })

  it('throws away and works out again what corrected evidence tells otherwise', async () => {
    const [machine] = (await rows()).map((row) => row.machine)
    // Half the strips in the first days of May: the third reset comes true later.
    await sql(
      `UPDATE evidence SET amount = 50 WHERE organisation_id = $1 AND machine_id = $2 AND from_date BETWEEN '2026-05-01' AND '2026-05-10' RETURNING id`,
      [machine!],
    )
    expect(await night('2026-06-23')).toEqual({ scored: 1, withoutForecast: 0, removed: 1 })
    const third = (await rows()).find((row) => row.machine === machine && row.done === '2026-04-30')
    expect(third!.true).toBe('2026-05-25')
  })

  it('is gone with its warehouse', async () => {
    expect(await scoreDates(database, { organisationId: us.organisationId, warehouseId: newId(), today: '2026-06-20' })).toBe('gone')
  })
})
