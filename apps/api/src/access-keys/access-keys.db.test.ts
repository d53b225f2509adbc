import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { KEY_SCOPES, type KeyScope, type Route, routes } from '@tapewarden/shared'
import { type Ask, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
let them: ApiOrganisation

const make = (scopes: readonly KeyScope[], more: object = {}) =>
  us.administrator('POST', 'access-keys', { name: 'Conveyor program', scopes, days: 30, ...more })
/** Asks as a program does: no cookie and no header of our pages. */
const by =
  (secret: string): Ask =>
  (method, path, body, headers = {}) =>
    api.anyone(method, path, body, { authorization: `Bearer ${secret}`, 'x-tapewarden': '', ...headers })
const sql = <Row extends Record<string, unknown>>(text: string, values: string[] = []) =>
  api.database.withOrganisationSql(us.organisationId, (scope) => scope.rows<Row>(text, values))

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'ours')
  them = await makeOrganisation(api, 'theirs')
})
afterAll(() => api.close())

describe('an access key', () => {
  it('is shown once, kept as a hash, and never in the history', async () => {
    const { status, body } = await make(['fleet:read'])
    expect(status).toBe(201)
    expect(body.secret).toMatch(/^twk_[\w-]{43}$/)
    expect(body.key).toMatchObject({
      name: 'Conveyor program',
      scopes: ['fleet:read'],
      warehouseIds: null,
      lastUsedAt: null,
      state: 'good',
    })
    const kept = JSON.stringify([
      await sql('SELECT * FROM access_key'),
      await sql('SELECT * FROM audit_entry'),
      (await us.administrator('GET', 'access-keys')).body,
    ])
    expect(kept).not.toContain(body.secret.slice(4, -4))
  })

  it('opens the routes of its scopes, says when it was last used, and no more at once when revoked', async () => {
    const { body } = await make(['fleet:read'])
    const program = by(body.secret)
    expect((await program('GET', 'machines')).body.items.length).toBe(2)
    expect(await program('GET', `machines/${us.machineId}/forecasts`)).toMatchObject({ status: 403, body: { code: 'SCOPE_NOT_ALLOWED' } })
    const listed = (await us.administrator('GET', 'access-keys')).body.items.find((one: { id: string }) => one.id === body.key.id)
    expect(Date.parse(listed.lastUsedAt)).toBeGreaterThan(0)
    expect(await us.administrator('DELETE', `access-keys/${body.key.id}`)).toMatchObject({ status: 200, body: { state: 'revoked' } })
    expect((await program('GET', 'machines')).status).toBe(401)
  })

  it('ends with its time', async () => {
    const { body } = await make(['fleet:read'])
    await sql(`UPDATE access_key SET expires_at = clock_timestamp() WHERE id = $1`, [body.key.id])
    expect((await by(body.secret)('GET', 'machines')).status).toBe(401)
  })

  it('posts evidence in bulk once for an idempotency key, in its own name', async () => {
    const program = by((await make(['evidence:write'])).body.secret)
    const day = (number: number) => ({
      kind: 'strips_day',
      machineId: us.machineId,
      day: `2026-04-0${number}`,
      strips: 900,
      externalId: `e${number}`,
    })
    const body = { source: 'conveyor', warehouseId: us.north, items: [day(1), day(2), { kind: 'strips_day', strips: -1 }] }
    const send = (sent: object) => program('POST', 'evidence/bulk', sent, { 'idempotency-key': 'night-1' })
    const first = await send(body)
    expect(first).toMatchObject({ status: 200, body: { counted: 2, refused: 1 } })
    expect((await send(body)).body).toEqual(first.body)
    expect((await send({ ...body, source: 'other' })).status).toBe(422)
    const [entry] = await sql<{ actor: string; person_id: string | null }>(
      `SELECT actor, person_id FROM audit_entry WHERE subject_kind = 'evidence' OR action ~ 'evidence' ORDER BY id DESC LIMIT 1`,
    )
    expect(entry).toEqual({ actor: 'Conveyor program (access key)', person_id: null })
  })

  it('may be limited to warehouses, and sees no other', async () => {
    const program = by((await make(KEY_SCOPES, { warehouseIds: [us.north] })).body.secret)
    expect((await program('GET', `machines/${us.farMachineId}`)).status).toBe(404)
    expect((await program('GET', `machines/${us.machineId}`)).status).toBe(200)
    for (const list of ['warehouses', 'stations', 'machines', 'occurrences', 'coming-up', 'evidence'])
      expect(JSON.stringify((await program('GET', list)).body)).not.toContain(us.south)
    expect((await make(['fleet:read'], { warehouseIds: [them.north] })).body.code).toBe('UNKNOWN_WAREHOUSE')
  })

  it('counts alone: a cookie beside it does not help, and nonsense is nobody', async () => {
    const secret = (await make(['evidence:write'])).body.secret
    expect((await us.administrator('GET', 'people', undefined, { authorization: `Bearer ${secret}` })).status).toBe(403)
    for (const authorization of ['Bearer ', 'Bearer x', `Basic ${secret}`, secret, `Bearer ${secret}x`, `Bearer ${'a'.repeat(5000)}`])
      expect((await us.administrator('GET', 'machines', undefined, { authorization })).status).toBe(401)
  })
})

describe('every route', () => {
  const table = (Object.entries(routes) as [string, Route][]).filter(([, { access }]) => Array.isArray(access))
  const pathOf = (route: Route, id: string) => route.path.replace(/:\w+/g, id)
  let everything: Ask
  const without = new Map<KeyScope, Ask>()
  beforeAll(async () => {
    everything = by((await make(KEY_SCOPES)).body.secret)
    for (const scope of KEY_SCOPES) without.set(scope, by((await make(KEY_SCOPES.filter((other) => other !== scope))).body.secret))
  })

  it.each(table)('%s is closed to a key without its scope', async (_name, route) => {
    const program = route.keyScope === undefined ? everything : without.get(route.keyScope)!
    expect(await program(route.method, pathOf(route, newId()), route.body ? {} : undefined)).toMatchObject({
      status: 403,
      body: { code: 'SCOPE_NOT_ALLOWED' },
    })
  })

  it.each(table.filter(([, route]) => route.keyScope !== undefined && route.path.endsWith(':machineId')))(
    '%s shows a key nothing of another organisation',
    async (_name, route) => {
      const foreign = await everything(route.method, pathOf(route, them.machineId))
      const unknown = await everything(route.method, pathOf(route, newId()))
      expect(foreign.status).toBe(404)
      expect({ ...foreign.body, instance: '' }).toEqual({ ...unknown.body, instance: '' })
    },
  )
})
