/** The worker's planning threads, as built: what they write is what a pass in the process would have written; a fault stays with its chunk. */
import { execFile } from 'node:child_process'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { promisify } from 'node:util'
import { afterAll, beforeAll, expect, it } from '@jest/globals'
import { Database, insertAllRows, runPlanningPass } from '@tapewarden/persistence'
import { createTestDatabase, type TestDatabase } from '../support/database.js'
import { fleetRows } from '../support/fleet.js'
import { smallOrganisation } from '../support/organisation.js'

const BUILT = pathToFileURL(join(process.cwd(), 'apps/worker/dist/planning/planner-threads.js')).href
/** Chunks at two places at once: the first address leads nowhere, the second to the database. */
const SCRIPT = `
import { startPlanner } from '${BUILT}'
const { addresses, request, chunks } = JSON.parse(process.argv[1])
const said = []
for (const address of addresses) {
  const planner = startPlanner(address, 2, (error) => said.push('thread ended: ' + error.message))
  const asked = { ...request, now: new Date(request.now) }
  const results = await Promise.allSettled(chunks.map((machineIds) => planner.plan({ ...asked, machineIds })))
  said.push(results.map(({ value, reason }) => value ?? reason.message))
  await planner.close()
}
console.log(JSON.stringify(said))
`

let test: TestDatabase
let database: Database

beforeAll(async () => {
  test = await createTestDatabase()
  database = await Database.open({ url: test.appUrl, applicationName: 'test' })
})
afterAll(async () => {
  await database.close()
  await test.drop()
})

it('plan in two threads what one process would plan, and fail a chunk where the database is away', async () => {
  const small = smallOrganisation('threads')
  const { organisationId, ids } = small
  await database.withOrganisationSql(organisationId, async (scope) => {
    await insertAllRows(scope, small.rows)
    await insertAllRows(scope, fleetRows(small, 40).rows)
  })
  const machineIds = await database.withOrganisationSql(organisationId, async (scope) =>
    (await scope.rows<{ id: string }>('SELECT id FROM machine ORDER BY id')).map(({ id }) => id),
  )
  const request = { organisationId, warehouseId: ids.warehouse, today: '2026-03-09', now: '2026-03-09T05:00:00.000Z' }
  const chunks = [0, 1, 2, 3].map((part) => machineIds.filter((_, index) => index % 4 === part))
  const asked = JSON.stringify({ addresses: ['postgres://nobody:x@127.0.0.1:1/nowhere', test.appUrl], request, chunks })
  const { stdout } = await promisify(execFile)(process.execPath, ['--input-type=module', '-e', SCRIPT, asked])
  const [away, there] = JSON.parse(stdout) as [string[], { machines: number; forecastsChanged: number; problems: unknown[] }[]]
  expect(away).toHaveLength(4)
  for (const reason of away) expect(reason).toMatch(/ECONNREFUSED/)
  expect(there.map(({ machines }) => machines)).toEqual(chunks.map(({ length }) => length))
  // One task a machine.
  expect(there.reduce((sum, { forecastsChanged }) => sum + forecastsChanged, 0)).toBe(machineIds.length)
  const again = await runPlanningPass(database, { ...request, now: new Date(request.now) })
  expect(again).toMatchObject({ machines: machineIds.length, forecastsChanged: 0, ledgerDaysChanged: 0, opened: 0, problems: [] })
}, 60_000)
