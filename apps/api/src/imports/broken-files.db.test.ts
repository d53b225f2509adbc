/** Sixty files that are broken in sixty ways: each says where, what is wrong and how to put it right. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'
import { BROKEN_FILES, BROKEN_ROWS } from '../../../../tests/support/broken-files.js'
import { type Importer, importerOf } from '../../../../tests/support/import-files.js'

let api: TestApi
let us: ApiOrganisation
let importer: Importer

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
  importer = await importerOf(api, us.manager, 'manager@north.example')
})
afterAll(() => api.close())

it('are sixty or more', () => expect(BROKEN_FILES.length + BROKEN_ROWS.length).toBeGreaterThanOrEqual(60))

describe('a file that cannot be read as a whole', () => {
  it.each(BROKEN_FILES)('%s', async (_what, kind, content, code, words) => {
    const { status, body } = await importer.upload(kind, content)
    expect([status, body.code]).toEqual([422, code])
    expect(body.detail).toMatch(words)
    expect((await us.manager('GET', 'imports?limit=200')).body.items.filter((one: { state: string }) => one.state === 'reading')).toEqual(
      [],
    )
  })
})

describe('a row that cannot be taken', () => {
  it.each(BROKEN_ROWS)('%s', async (_what, kind, content, line, column, code, problem, remedy, settings = {}) => {
    const checked = await importer.check(kind, content, settings)
    expect(checked.state).toBe('checked')
    const refused = await importer.rows(checked.id, 'refused')
    expect(refused.map((row) => [row.line, row.faults[0].column, row.faults[0].code])).toEqual([[line, column, code]])
    expect(refused[0].faults[0].problem).toMatch(problem)
    expect(refused[0].faults[0].remedy).toMatch(remedy)
    if (_what.startsWith('two faults')) expect(refused[0].faults).toHaveLength(2)
  })
})
