/** What belongs to a machine, an order or a falling-due is found by an index: a fleet's past grows, and nobody waits for all of it. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { Client } from 'pg'
import { createTestDatabase, type TestDatabase } from '../support/database.js'

let test: TestDatabase
let owner: Client
beforeAll(async () => {
  test = await createTestDatabase()
  owner = new Client({ connectionString: test.ownerUrl })
  await owner.connect()
})
afterAll(async () => {
  await owner.end()
  await test.drop()
})

/** Not asked for by all that they refer to: by the machine only labels in use and answers of a round, which have indexes of their own. */
const NOT_ASKED_FOR = [
  'bounce → message',
  'finding → component',
  'machine_label → machine',
  'occurrence → component',
  'work_entry → machine',
]

/** References without an index that begins with their columns; one over the rows that refer to anything at all will do. */
const WITHOUT_INDEX = `
  SELECT c.conrelid::regclass::text || ' → ' || c.confrelid::regclass::text AS name
  FROM pg_constraint c WHERE c.contype = 'f' AND c.confrelid::regclass::text IN ('machine', 'work_order', 'occurrence', 'component', 'message')
    AND NOT EXISTS (SELECT 1 FROM pg_index i WHERE i.indrelid = c.conrelid AND (i.indkey::int2[])[0:cardinality(c.conkey) - 1] @> c.conkey
      AND (i.indpred IS NULL OR pg_get_expr(i.indpred, i.indrelid) ~ '^\\(\\w+ IS NOT NULL\\)$'))
  ORDER BY 1`

describe('rows of a machine, an order, a falling-due, a component or a mail', () => {
  it('are found by an index', async () => {
    const { rows } = await owner.query<{ name: string }>(WITHOUT_INDEX)
    expect(rows.map(({ name }) => name)).toEqual(NOT_ASKED_FOR)
  })
})
