/** A2: ids of another organisation at every route, as everyone; with both guards, and with each of them alone. */
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals'
import { insertAllRows, PgScope } from '@tapewarden/persistence'
import { newId } from '@tapewarden/platform'
import { type Route, routes } from '@tapewarden/shared'
import { Client } from 'pg'
import { type Reply, startTestApi, type TestApi } from '../support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../support/api-organisation.js'
import { smallOrganisation } from '../support/organisation.js'
import { freshCookie, type FuzzRole, ROLES } from './people.js'
import { Dice } from './random.js'
import { report, scaled } from './report.js'

jest.setTimeout(3_600_000)
const PAIRS = scaled(300, 10_000)
const withIds = (Object.values(routes) as Route[]).filter(({ path, access }) => path.includes(':') && Array.isArray(access))
const lists = (Object.values(routes) as Route[]).filter(
  ({ path, access, method }) => method === 'GET' && !path.includes(':') && Array.isArray(access),
)

let api: TestApi
let us: ApiOrganisation
let theirId: string
let foreign: string[]
let owner: Client
let tables: string[]

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'ours')
  const them = smallOrganisation('theirs')
  theirId = them.organisationId
  // A row in every table that there is.
  await api.database.withOrganisationSql(theirId, (scope) => insertAllRows(scope, them.rows))
  owner = new Client({ connectionString: api.test.ownerUrl })
  await owner.connect()
  const { rows } = await owner.query<{ name: string; has_id: boolean }>(
    `SELECT c.relname::text AS name, EXISTS (SELECT 1 FROM pg_attribute a WHERE a.attrelid = c.oid AND a.attname = 'id' AND NOT a.attisdropped) AS has_id
     FROM pg_class c WHERE c.relnamespace = 'public'::regnamespace AND c.relkind = 'r'`,
  )
  tables = rows.map(({ name }) => name)
  foreign = []
  for (const { name, has_id: hasId } of rows)
    if (hasId && name !== 'organisation')
      foreign.push(
        ...(await owner.query(`SELECT id::text FROM "${name}" WHERE organisation_id = $1`, [theirId])).rows.map(({ id }) => String(id)),
      )
})
afterAll(async () => {
  await owner.end()
  await api.close()
})

async function ask(cookie: string, method: string, url: string, body: boolean): Promise<Reply> {
  const reply = await api.app.inject({
    method: method as 'GET',
    url,
    headers: { 'x-tapewarden': '1', cookie },
    ...(body ? { payload: {} } : {}),
  })
  const json = String(reply.headers['content-type']).includes('json')
  return { status: reply.statusCode, body: json ? JSON.parse(reply.body) : reply.body, headers: reply.headers }
}
const plain = ({ status, body }: Reply) => JSON.stringify({ status, body: { ...body, instance: '' } })

let notFound = 0
/** @returns what leaked or was answered otherwise than for an id that nobody has */
async function attack(seed: number): Promise<string[]> {
  notFound = 0
  const dice = new Dice(seed)
  const cookies = new Map<FuzzRole, string>()
  for (const role of ROLES) cookies.set(role, await freshCookie(api, us, role))
  const leaks: string[] = []
  const unknown = newId()
  for (let number = 0; number < PAIRS; number++) {
    const route = dice.pick(withIds)
    const cookie = cookies.get(dice.pick(ROLES)) as string
    const fill = (make: () => string) => route.path.replace(/:\w+/g, (name) => (name === ':labelCode' ? 'theirs-1' : make()))
    const known = await ask(
      cookie,
      route.method,
      fill(() => dice.pick(foreign)),
      route.body !== undefined,
    )
    const none = await ask(
      cookie,
      route.method,
      fill(() => unknown),
      route.body !== undefined,
    )
    if (known.status === 404) notFound += 1
    if (known.status < 400 || plain(known) !== plain(none)) leaks.push(`${route.method} ${route.path}: ${plain(known).slice(0, 200)}`)
  }
  const manager = cookies.get('administrator') as string
  for (const route of lists) {
    const query = route.path.endsWith('/review')
      ? '?from=2026-01-01&to=2026-12-31'
      : route.path.endsWith('/rounds')
        ? `?warehouseId=${us.north}`
        : ''
    const text = JSON.stringify((await ask(manager, 'GET', route.path + query, false)).body)
    if (foreign.some((id) => text.includes(id)) || text.includes(theirId)) leaks.push(`list ${route.path}`)
  }
  return leaks
}

describe('ids of another organisation', () => {
  it('lead nowhere with both guards', async () => {
    expect(foreign.length).toBeGreaterThan(40)
    const leaks = await attack(1)
    report('A2', 'both guards', { pairs: PAIRS, notFound, lists: lists.length, foreignIds: foreign.length, leaks: leaks.length })
    expect(leaks).toEqual([])
    expect(notFound).toBeGreaterThan(PAIRS / 10)
  })

  it('lead nowhere with the application’s guard switched off: row-level security alone', async () => {
    let switchedOff = 0
    const without = (text: string) =>
      text.replace(/\b(?:\w+\.)?organisation_id = \$1(?!\d)/g, (condition) => {
        switchedOff += 1
        return `(${condition} OR true)`
      })
    const before = [PgScope.prototype.rows, PgScope.prototype.run, PgScope.prototype.arrays] as const
    const [rows, run] = before
    PgScope.prototype.rows = function (this: PgScope, text, values) {
      return rows.call(this, without(text), values) as never
    }
    PgScope.prototype.run = function (this: PgScope, text, values) {
      // An INSERT or an UPDATE of the asker's own row stays as it is: what matters is what can be found.
      return run.call(this, text.startsWith('UPDATE session') ? text : without(text), values)
    }
    try {
      const leaks = await attack(2)
      report('A2', 'row-level security alone', { pairs: PAIRS, notFound, conditionsSwitchedOff: switchedOff, leaks: leaks.length })
      expect(leaks).toEqual([])
      expect(notFound).toBeGreaterThan(PAIRS / 10)
      expect(switchedOff).toBeGreaterThan(PAIRS)
    } finally {
      PgScope.prototype.rows = before[0]
      PgScope.prototype.run = before[1]
    }
    // The switch does switch: as a role that no policy binds, the same words find the others' rows.
    const text = without('SELECT id FROM machine WHERE organisation_id = $1')
    const found = (await owner.query(text, [us.organisationId])).rows.map(({ id }) => String(id))
    expect(found.some((id) => foreign.includes(id))).toBe(true)
  })

  it('lead nowhere with row-level security switched off: the application’s guard alone', async () => {
    for (const table of tables) await owner.query(`ALTER TABLE "${table}" DISABLE ROW LEVEL SECURITY`)
    try {
      const leaks = await attack(3)
      report('A2', 'the application’s guard alone', { pairs: PAIRS, notFound, leaks: leaks.length })
      expect(leaks).toEqual([])
      expect(notFound).toBeGreaterThan(PAIRS / 10)
    } finally {
      for (const table of tables) await owner.query(`ALTER TABLE "${table}" ENABLE ROW LEVEL SECURITY`)
    }
  })
})
