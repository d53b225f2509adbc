/** B2: the database is brought forward while people and programs go on, somebody reads for long, and nobody is refused. */
import { afterAll, beforeAll, expect, it, jest } from '@jest/globals'
import { migrate, type MigrationFile, readMigrationFiles } from '@tapewarden/persistence'
import { createHash } from 'node:crypto'
import { Client } from 'pg'
import { type Ask, startTestApi, type TestApi } from '../support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../support/api-organisation.js'

jest.setTimeout(120_000)
let api: TestApi
let us: ApiOrganisation
let owner: Client
let reader: Client

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'ours')
  owner = new Client({ connectionString: api.test.ownerUrl })
  reader = new Client({ connectionString: api.test.ownerUrl })
  await Promise.all([owner.connect(), reader.connect()])
})
afterAll(async () => {
  await Promise.all([owner.end(), reader.end()])
  await api.close()
})

/** What an expanding release brings: a column, a table that refers to one in use, an index, a check that is validated afterwards. */
const STEPS = [
  `ALTER TABLE machine ADD COLUMN trial_colour text NOT NULL DEFAULT 'grey';
   ALTER TABLE evidence ADD COLUMN trial_weight double precision NULL;`,
  `CREATE TABLE trial_note (organisation_id uuid NOT NULL, id uuid NOT NULL, machine_id uuid NOT NULL, PRIMARY KEY (organisation_id, id),
     FOREIGN KEY (organisation_id, machine_id) REFERENCES machine (organisation_id, id));`,
  `-- no-transaction
   CREATE INDEX CONCURRENTLY trial_evidence_idx ON evidence (organisation_id, source);`,
  `ALTER TABLE evidence ADD CONSTRAINT trial_weight_check CHECK (trial_weight >= 0) NOT VALID;`,
  `ALTER TABLE evidence VALIDATE CONSTRAINT trial_weight_check;`,
]
const steps = STEPS.map((text, index): MigrationFile => {
  const number = 9001 + index
  return {
    name: `${number}_trial_${index}.sql`,
    number,
    text,
    sha256: createHash('sha256').update(text).digest('hex'),
    inTransaction: !text.startsWith('-- no-transaction'),
  }
})

interface Load {
  statuses: Map<number, number>
  refusals: string[]
  written: number
  longestMs: number
}

/** As many at once as connections of the api, until told to stop. */
async function press(load: Load, going: () => boolean): Promise<void> {
  const ask = async (asking: Ask, ...sent: Parameters<Ask>): Promise<number> => {
    const began = performance.now()
    const { status, body } = await asking(...sent)
    if (status >= 400) load.refusals.push(JSON.stringify(body))
    load.longestMs = Math.max(load.longestMs, performance.now() - began)
    load.statuses.set(status, (load.statuses.get(status) ?? 0) + 1)
    return status
  }
  /** Each its own machine, so that what is tried is the migration and not two people at one record. */
  const write = async (writer: number, machineId: string, warehouseId: string): Promise<void> => {
    for (let n = 0; going(); n++) {
      const items = [{ kind: 'strips_day', machineId, day: '2026-04-02', strips: 900, externalId: `w${writer} ${n}` }]
      if ((await ask(us.administrator, 'POST', 'evidence/bulk', { source: 'trial', warehouseId, items })) === 200) load.written += 1
      await ask(us.administrator, 'PATCH', `machines/${machineId}`, { note: `n${writer} ${n}` })
    }
  }
  const read = async (path: string): Promise<void> => {
    while (going()) await ask(us.manager, 'GET', path)
  }
  await Promise.all([
    write(1, us.machineId, us.north),
    write(2, us.farMachineId, us.south),
    read('machines'),
    read('coming-up'),
    read('evidence'),
    read(`machines/${us.machineId}`),
  ])
}

it('goes forward in five steps with 0 failed requests and 0 lost rows', async () => {
  const load: Load = { statuses: new Map(), refusals: [], written: 0, longestMs: 0 }
  let going = true
  const pressing = press(load, () => going)
  // Somebody takes a long look, as a file of everything does: a change of the table cannot come in before that ends.
  await reader.query('BEGIN')
  await reader.query('SELECT count(*) FROM machine')
  const look = new Promise((done) => setTimeout(done, 4000)).then(() => reader.query('COMMIT'))
  const applied = await migrate(owner, [...readMigrationFiles('prisma/migrations'), ...steps])
  await look
  await new Promise((done) => setTimeout(done, 300))
  going = false
  await pressing
  expect(applied).toEqual(steps.map(({ name }) => name))
  expect(load.refusals).toEqual([])
  expect([...load.statuses.values()].reduce((sum, n) => sum + n, 0)).toBeGreaterThan(100)
  const { rows } = await owner.query(`SELECT count(*)::int AS n FROM evidence_key WHERE source = 'trial'`)
  expect(rows[0].n).toBe(load.written)
  const { rows: invalid } = await owner.query(`SELECT indexrelid::regclass::text FROM pg_index WHERE NOT indisvalid`)
  expect(invalid).toEqual([])
  // A change that waits for its lock steps back after half a second: whoever stands behind it waits no longer than that.
  expect(load.longestMs).toBeLessThan(4000)
})
