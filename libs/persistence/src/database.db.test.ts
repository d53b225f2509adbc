import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { createTestDatabase, type TestDatabase } from '../../../tests/support/database.js'
import { Database } from './database.js'
import { findPersonByEmail } from './directory.js'

let test: TestDatabase
let database: Database
const [ours, theirs] = [newId(), newId()]

beforeAll(async () => {
  test = await createTestDatabase()
  database = await Database.open({ url: test.appUrl, applicationName: 'test' })
  for (const [id, name] of [
    [ours, 'Ours'],
    [theirs, 'Theirs'],
  ] as const)
    await database.withOrganisation(id, (scope) => scope.organisation.create({ data: { id, name, createdAt: new Date() } }))
})
afterAll(async () => {
  await database.close()
  await test.drop()
})

describe('the one way to the rows', () => {
  it('shows each organisation its own, through Prisma and through SQL, and nothing without a name', async () => {
    expect(await database.withOrganisation(ours, (scope) => scope.organisation.findMany({ select: { name: true } }))).toEqual([
      { name: 'Ours' },
    ])
    expect(await database.withOrganisationSql(theirs, (scope) => scope.rows('SELECT name FROM organisation'))).toEqual([{ name: 'Theirs' }])
    expect((await database.pool.query('SELECT * FROM organisation')).rows).toEqual([])
  })

  it('does not carry the organisation over to the next use of a connection', async () => {
    for (let round = 0; round < 20; round++) await database.withOrganisationSql(ours, (scope) => scope.rows('SELECT 1'))
    expect((await database.pool.query('SELECT current_organisation() AS id')).rows).toEqual([{ id: null }])
  })

  it('takes lists of any words, numbers and gaps as they are', async () => {
    const plain = ['', 'NULL', 'null', ' a ', 'a,b', '{}', 'ä\u{1f600}', "'; --", null]
    const some = [0, -1.5, 1e21, 1e-9, null]
    const words = ['', 'NULL', 'null', ' a ', 'a,b', '{}', '["a"]', '"', '\\', '\\"', "'; --", 'ä\u{1f600}', '\n\t', null]
    const numbers = [0, -1.5, 1e21, 1e-9, null, Number.POSITIVE_INFINITY]
    const moment = new Date('2026-03-02T08:00:00.123Z')
    const [row] = await database.withOrganisationSql(ours, (scope) =>
      scope.rows(
        `SELECT $1::text[] AS words, $2::float8[] AS numbers, $3::boolean[] AS said, $4::int[] AS none, $5::timestamptz[] AS moments, $6::bytea[] AS bytes, $7::text[] AS plain, $8::float8[] AS some`,
        [words, numbers, [true, false, undefined], [], [moment, moment.toISOString()], [Buffer.from([0, 255, 34])], plain, some],
      ),
    )
    expect(row).toEqual({
      words,
      numbers,
      said: [true, false, null],
      none: [],
      moments: [moment, moment],
      bytes: [Buffer.from([0, 255, 34])],
      plain,
      some,
    })
  })

  it('rolls back what failed, and keeps the connection usable', async () => {
    const person = { id: newId(), organisationId: ours, name: 'Ada', email: 'Ada@example.org', role: 'manager', createdAt: new Date() }
    await expect(
      database.withOrganisation(ours, async (scope) => {
        await scope.person.create({ data: person })
        throw new Error('stop')
      }),
    ).rejects.toThrow('stop')
    expect(await findPersonByEmail(database.pool, 'ada@example.org')).toBeNull()
    await database.withOrganisation(ours, (scope) => scope.person.create({ data: person }))
    expect(await findPersonByEmail(database.pool, 'ada@example.org')).toMatchObject({ organisationId: ours, personId: person.id })
    await expect(database.withOrganisationSql(ours, (scope) => scope.rows('SELECT 1 / 0'))).rejects.toThrow('division')
    expect(await database.withOrganisationSql(ours, (scope) => scope.rows('SELECT count(*)::int AS n FROM person'))).toEqual([{ n: 1 }])
  })

  it('fails the transaction, not the process, when its connection is cut between two statements', async () => {
    const cut = database.withOrganisationSql(ours, async (scope) => {
      const [row] = await scope.rows<{ pid: number }>('SELECT pg_backend_pid() AS pid')
      await database.pool.query('SELECT pg_terminate_backend($1)', [row?.pid])
      await new Promise((later) => setTimeout(later, 200))
      return scope.rows('SELECT 1')
    })
    await expect(cut).rejects.toThrow(/terminat|closed|not queryable/i)
    expect(await database.withOrganisationSql(ours, (scope) => scope.rows('SELECT 1 AS one'))).toEqual([{ one: 1 }])
  })

  it('hands rows over one by one as it would all at once, and says what went wrong with one of them', async () => {
    const text = `SELECT n, DATE '2026-03-09' + n AS day FROM generate_series(1, $1::int) AS n ORDER BY n`
    const seen: unknown[] = []
    const all = await database.withOrganisationSql(ours, async (scope) => {
      await scope.each(text, [2000], (row) => seen.push(row))
      return scope.rows(text, [2000])
    })
    expect(seen).toEqual(all)
    const refuses = (statement: string) =>
      database.withOrganisationSql(ours, (scope) =>
        scope.each<{ n: number }>(statement, [5], ({ n }) => {
          if (n === 3) throw new Error(`row ${n}`)
        }),
      )
    await expect(refuses(text)).rejects.toThrow('row 3')
    await expect(refuses('SELECT 1 / ($1::int - 5) AS n')).rejects.toThrow('division')
    expect(await database.withOrganisationSql(ours, (scope) => scope.rows('SELECT 1 AS one'))).toEqual([{ one: 1 }])
  })

  it('lists the organisations and tells the database’s time', async () => {
    expect((await database.organisations()).sort()).toEqual([ours, theirs].sort())
    expect(Math.abs((await database.askTime()).getTime() - Date.now())).toBeLessThan(5000)
  })

  it('refuses a role for which row-level security means nothing', async () => {
    await expect(Database.open({ url: test.ownerUrl, applicationName: 'test' })).rejects.toThrow(
      'is a superuser: organisations would not be kept apart',
    )
  })
})
