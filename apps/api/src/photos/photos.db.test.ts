import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'
import { jpegWithPlace, smallJpeg } from '../../../../tests/support/jpeg.js'

let api: TestApi
let us: ApiOrganisation
let them: ApiOrganisation
const content = jpegWithPlace('52.5200 N').toString('base64')

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
  them = await makeOrganisation(api, 'theirs')
})
afterAll(() => api.close())

const body = (more: object = {}) => ({ id: newId(), machineId: us.machineId, takenAt: '2026-05-04T07:30:00Z', content, ...more })

describe('photos', () => {
  it('are kept once for each id, without place and camera, and given to whoever may see the machine', async () => {
    const photo = body()
    const first = await us.technician('POST', 'photos', photo)
    expect(first).toMatchObject({ status: 201, body: { id: photo.id, widthPx: 8, heightPx: 8, personName: expect.any(String) } })
    expect((await us.technician('POST', 'photos', photo)).status).toBe(201)
    const { items } = (await us.manager('GET', `photos?machineId=${us.machineId}`)).body
    expect(items.map(({ id }: { id: string }) => id)).toEqual([photo.id])
    const file = (await us.technician('GET', `photos/${photo.id}`)).body
    expect(file).toMatchObject({ mediaType: 'image/jpeg', encoding: 'base64' })
    const bytes = Buffer.from(file.content, 'base64')
    expect(bytes.subarray(0, 2).toString('hex')).toBe('ffd8')
    expect(bytes.includes('52.5200')).toBe(false)
  })

  it('of a machine that one does not serve, or of another organisation, are not there', async () => {
    const far = body({ machineId: us.farMachineId })
    expect((await us.technician('POST', 'photos', far)).status).toBe(404)
    expect((await us.manager('POST', 'photos', far)).status).toBe(201)
    expect((await us.technician('GET', `photos/${far.id}`)).status).toBe(404)
    expect((await us.technician('GET', `photos?machineId=${us.farMachineId}`)).body.items).toEqual([])
    expect((await them.manager('GET', `photos/${far.id}`)).status).toBe(404)
    expect((await us.instructed('GET', `photos/${far.id}`)).status).toBe(403)
    // An id that the other organisation uses is free here: ids tell nothing across organisations.
    expect((await them.manager('POST', 'photos', { ...far, machineId: them.machineId })).status).toBe(201)
  })

  it('are refused when they are no picture, too large, of the future or of a strange order', async () => {
    const pdf = Buffer.from('%PDF-1.7 not a picture').toString('base64')
    expect(await us.technician('POST', 'photos', body({ content: pdf }))).toMatchObject({ status: 422, body: { code: 'NOT_A_PHOTO' } })
    const large = smallJpeg().subarray(0, -2)
    const padded = Buffer.concat([large, Buffer.alloc(1_048_576), Buffer.from('ffd9', 'hex')]).toString('base64')
    expect((await us.technician('POST', 'photos', body({ content: padded }))).status).toBeGreaterThanOrEqual(400)
    const late = await us.technician('POST', 'photos', body({ takenAt: '2026-05-05T08:00:00Z' }))
    expect(late).toMatchObject({ status: 422, body: { code: 'IN_THE_FUTURE' } })
    const order = await us.technician('POST', 'photos', body({ workOrderId: newId() }))
    expect(order).toMatchObject({ status: 422, body: { code: 'UNKNOWN_WORK_ORDER' } })
  })

  it('are removed by who took them or by the desk, and the audit says so', async () => {
    const [mine, theirs] = [body(), body()]
    await us.technician('POST', 'photos', mine)
    await us.manager('POST', 'photos', theirs)
    expect(await us.technician('DELETE', `photos/${theirs.id}`)).toMatchObject({ status: 403, body: { code: 'NOT_YOURS' } })
    expect((await us.technician('DELETE', `photos/${mine.id}`)).status).toBe(200)
    expect((await us.manager('DELETE', `photos/${theirs.id}`)).status).toBe(200)
    expect((await us.manager('GET', `photos/${mine.id}`)).status).toBe(404)
    const audit = (await us.manager('GET', `audit?subjectId=${us.machineId}`)).body.items
    expect(audit.filter(({ action }: { action: string }) => action === 'remove photo')).toHaveLength(2)
  })
})
