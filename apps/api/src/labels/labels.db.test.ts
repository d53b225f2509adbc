import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
let them: ApiOrganisation

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
  them = await makeOrganisation(api, 'theirs')
})
afterAll(() => api.close())

const tokens = (organisationId = us.organisationId) =>
  api.database.withOrganisationSql(organisationId, (scope) =>
    scope.rows<{ token: string; cancelled: boolean }>(
      'SELECT token, cancelled_at IS NOT NULL AS cancelled FROM machine_label ORDER BY cancelled_at NULLS LAST',
    ),
  )

describe('labels', () => {
  it('are a PDF; printed again they are the same, and new ones cancel the old', async () => {
    const first = await us.manager('POST', 'labels', { machineIds: [us.machineId] })
    expect(first.status).toBe(200)
    expect(Buffer.from(first.body.content, 'base64').subarray(0, 5).toString()).toBe('%PDF-')
    const [one] = await tokens()
    await us.manager('POST', 'labels', { machineIds: [us.machineId], layout: 'roll_50_by_25' })
    expect(await tokens()).toEqual([one])
    await us.manager('POST', 'labels', { machineIds: [us.machineId], fresh: true })
    expect(await tokens()).toMatchObject([{ token: one?.token, cancelled: true }, { cancelled: false }])
  })

  it('are for own machines alone', async () => {
    expect((await us.manager('POST', 'labels', { machineIds: [us.machineId, them.machineId] })).status).toBe(404)
    expect(await tokens(them.organisationId)).toEqual([])
    expect((await us.technician('POST', 'labels', { machineIds: [us.machineId] })).status).toBe(403)
  })
})
