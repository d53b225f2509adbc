/** Imports through the api, for tests: a file in, the dry run awaited. */
import { ImportRunner } from '../../apps/api/src/imports/runner.js'
import { REQUEST_HEADER } from '@tapewarden/shared'
import type { Ask, Json, Reply, TestApi } from './api.js'
import { PASSWORD } from './api.js'

export interface Importer {
  upload(kind: string, content: string | Buffer, fileName?: string, headers?: Record<string, string>): Promise<Reply>
  /** Uploads, maps as guessed (or as told) and waits for the dry run. */
  check(kind: string, content: string | Buffer, more?: Record<string, unknown>): Promise<Json>
  apply(id: string, how?: string): Promise<Json>
  rows(id: string, outcome?: string): Promise<Json[]>
}

export async function importerOf(api: TestApi, ask: Ask, email: string): Promise<Importer> {
  const signedIn = await api.app.inject({
    method: 'POST',
    url: '/api/v1/session',
    headers: { [REQUEST_HEADER]: '1' },
    payload: { email, password: PASSWORD },
  })
  const cookie = String(signedIn.headers['set-cookie']).split(';')[0] as string
  const settled = () => api.app.get(ImportRunner).settled()
  const upload: Importer['upload'] = async (kind, content, fileName = 'list.csv', headers = {}) => {
    const reply = await api.app.inject({
      method: 'POST',
      url: `/api/v1/imports?kind=${kind}&fileName=${encodeURIComponent(fileName)}`,
      headers: { [REQUEST_HEADER]: '1', cookie, 'content-type': 'application/octet-stream', ...headers },
      payload: Buffer.isBuffer(content) ? content : Buffer.from(content),
    })
    return { status: reply.statusCode, body: JSON.parse(reply.body), headers: reply.headers }
  }
  return {
    upload,
    async check(kind, content, more = {}) {
      const { status, body } = await upload(kind, content)
      if (status !== 201) return body
      const mapped = await ask('PUT', `imports/${body.id}/mapping`, {
        mapping: body.mapping,
        dateForm: body.dateForm,
        decimalMark: body.decimalMark,
        ...more,
      })
      if (mapped.status !== 200) return mapped.body
      await settled()
      return (await ask('GET', `imports/${body.id}`)).body
    },
    async apply(id, how = 'good_rows') {
      const reply = await ask('POST', `imports/${id}/applying`, { how })
      if (reply.status !== 200) return reply.body
      await settled()
      return (await ask('GET', `imports/${id}`)).body
    },
    async rows(id, outcome) {
      return (await ask('GET', `imports/${id}/rows?limit=200${outcome ? `&outcome=${outcome}` : ''}`)).body.items
    },
  }
}
