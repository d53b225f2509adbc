import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { type Ask, type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation

const kept = (what: string) => ({ id: newId(), what, madeAt: '2026-05-04T07:30:00Z' })
const say = (ask: Ask, storageId: string, ...entries: Json[]): Promise<Json> =>
  ask('POST', 'phone-words', { storageId, kept: entries }).then(({ body }) => body)

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
})
afterAll(() => api.close())

describe('what a phone says that it keeps', () => {
  it('is named when its storage was cleared, until a person has seen it; what has arrived is not', async () => {
    const [cleared, fresh] = [newId(), newId()]
    const arrived = kept('N-01: counter')
    const lost = kept('N-01: it stands still')
    expect(await say(us.technician, cleared, arrived, lost)).toMatchObject({ cleared: null, missing: [] })
    const body = { id: newId(), kind: 'strips_day', machineId: us.machineId, day: '2026-05-01', strips: 500 }
    expect((await us.technician('POST', 'evidence', body, { 'idempotency-key': arrived.id })).status).toBe(200)

    const answer = await say(us.technician, fresh)
    expect(answer).toMatchObject({
      cleared: { storageId: cleared, lastSaidAt: '2026-05-04T08:00:00.000Z' },
      missing: [{ id: lost.id, what: lost.what, storageId: cleared, ofThisPhone: true }],
    })
    expect(answer.missing).toHaveLength(1)
    expect((await us.manager('POST', `phone-words/${cleared}/settling`, { entryIds: [lost.id] })).status).toBe(404)
    await us.technician('POST', `phone-words/${cleared}/settling`, { entryIds: [lost.id] })
    expect(await say(us.technician, fresh)).toMatchObject({ cleared: null, missing: [] })
  })

  it('says that it cannot know where nothing was said to be kept', async () => {
    const [cleared, fresh] = [newId(), newId()]
    await say(us.manager, cleared)
    expect(await say(us.manager, fresh)).toMatchObject({ cleared: { storageId: cleared }, missing: [] })
    await us.manager('POST', `phone-words/${cleared}/settling`, { entryIds: [] })
    expect(await say(us.manager, fresh)).toMatchObject({ cleared: null, missing: [] })
  })

  it('of another sign-in may still be on another phone', async () => {
    const [one, other] = [newId(), newId()]
    const entry = kept('N-01: a step')
    await say(us.instructed, one, entry)
    const again = await api.signIn('instructed@north.example')
    expect(await say(again, other)).toMatchObject({ cleared: null, missing: [{ id: entry.id, ofThisPhone: false }] })
    // The first phone sends it, or says that it was taken back.
    await say(us.instructed, one)
    expect(await say(again, other)).toMatchObject({ missing: [] })
  })

  it('stays with the person: nobody else hears of it', async () => {
    const entry = kept('N-01: a step')
    await say(us.technician, newId(), entry)
    expect(JSON.stringify(await say(us.manager, newId()))).not.toContain(entry.id)
  })
})
