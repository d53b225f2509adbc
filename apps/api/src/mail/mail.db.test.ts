import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation

const sql = (text: string, values: unknown[] = []) =>
  api.database.withOrganisationSql(us.organisationId, (scope) => scope.rows(text, values as never))

beforeAll(async () => {
  // A Monday, ten in the morning in Berlin.
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'mail')
  await sql(`UPDATE warehouse SET first_person_id = $2 WHERE id = $1`, [us.north, us.people.manager])
})
afterAll(() => api.close())

describe('mail preferences', () => {
  it('are one’s own to change, and say when the next digest can go by the clocks of the warehouse', async () => {
    const before = (await us.manager('GET', 'me/mail')).body
    expect(before).toMatchObject({
      reminderMail: true,
      refusedAddress: null,
      unwantedKinds: [],
      digestWeekday: null,
      digestTime: null,
      quiet: null,
    })
    const wishes = {
      unwantedKinds: ['parts', 'parts', 'coming_due'],
      digestWeekday: 3,
      digestTime: '09:15',
      quiet: { from: '12:00', to: '13:00' },
      leadDays: 12,
      units: 'us',
    }
    const after = await us.manager('PATCH', 'me/mail', { ...wishes, version: before.version })
    expect(after).toMatchObject({ status: 200, body: { ...wishes, unwantedKinds: ['parts', 'coming_due'] } })
    const next = after.body.next.find(({ warehouseId }: { warehouseId: string }) => warehouseId === us.north)
    expect(next.local).toBe('2026-05-06T09:15')
    expect((await us.manager('PATCH', 'me/mail', { leadDays: 3, version: before.version })).body).toMatchObject({
      code: 'CHANGED_MEANWHILE',
    })
    const cleared = (await us.manager('PATCH', 'me/mail', { digestWeekday: null, digestTime: null, quiet: null, unwantedKinds: [] })).body
    expect(cleared).toMatchObject({ digestWeekday: null, digestTime: null, quiet: null, unwantedKinds: [], leadDays: 12 })
  })

  it('refuse quiet hours without length, unknown kinds and times that are none', async () => {
    for (const body of [
      { quiet: { from: '10:00', to: '10:00' } },
      { unwantedKinds: ['urgent'] },
      { digestTime: '25:00' },
      { digestWeekday: 8 },
    ])
      expect((await us.manager('PATCH', 'me/mail', body)).status).toBe(400)
  })

  it('can be turned on again, by a manager too, and a refused address can be tried again', async () => {
    await sql(`UPDATE person SET reminder_mail = false, mail_refused_address = email, mail_refused_reason = '550 5.1.1' WHERE id = $1`, [
      us.people.technician,
    ])
    const path = `people/${us.people.technician}/mail`
    expect((await us.manager('GET', path)).body).toMatchObject({ reminderMail: false, refusedReason: '550 5.1.1' })
    expect((await us.technician('GET', path)).status).toBe(403)
    const after = (await us.manager('PATCH', path, { reminderMail: true, arrivesAgain: true })).body
    expect(after).toMatchObject({ reminderMail: true, refusedAddress: null, refusedReason: null })
  })

  it('plan a warehouse anew where its named person’s lead changes', async () => {
    api.planned.length = 0
    await us.manager('PATCH', 'me/mail', { leadDays: 20 })
    expect(api.planned).toContain(us.north)
    const before = [...api.planned]
    await us.manager('PATCH', 'me/mail', { leadDays: 20, digestTime: '08:00' })
    expect(api.planned).toEqual(before)
  })
})
