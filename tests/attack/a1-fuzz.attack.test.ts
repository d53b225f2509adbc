/** A1: requests made from the schemas and at random, at every route, as everyone: no 5xx, every refusal a problem document, no growing memory. */
import { setFlagsFromString } from 'node:v8'
import { runInNewContext } from 'node:vm'
import { afterAll, beforeAll, expect, it, jest } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { problemSchema, type Route, routes } from '@tapewarden/shared'
import { z } from 'zod'
import { startTestApi, type TestApi } from '../support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../support/api-organisation.js'
import { FromSchema, NASTY } from './from-schema.js'
import { freshCookie, type FuzzRole, ROLES } from './people.js'
import { Dice } from './random.js'
import { report, scaled } from './report.js'

jest.setTimeout(3_600_000)
const COUNT = scaled(1500, 50_000)
const SEED = Number(process.env.ATTACK_SEED ?? 20_261_125)

let api: TestApi
let us: ApiOrganisation
let ids: string[]

interface Asked {
  method: string
  url: string
  headers: Record<string, string>
  payload?: string
}

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'fuzzed')
  ids = [us.north, us.south, us.station, us.machineTypeId, us.machineId, us.farMachineId, ...Object.values(us.people), newId(), newId()]
})
afterAll(() => api.close())

setFlagsFromString('--expose_gc')
const collect = runInNewContext('gc') as () => void
function heapBytes(): number {
  collect()
  collect()
  return process.memoryUsage().heapUsed
}

type Json = Record<string, unknown>
const table = (Object.values(routes) as Route[]).map((route) => ({
  route,
  body: route.body ? (z.toJSONSchema(route.body, { io: 'input', unrepresentable: 'any' }) as Json) : null,
  query: route.query ? (z.toJSONSchema(route.query, { io: 'input', unrepresentable: 'any' }) as Json) : null,
}))

/** encodeURIComponent takes no lone surrogate. */
function asText(value: unknown): string {
  return Buffer.from(typeof value === 'string' ? value : (JSON.stringify(value) ?? '')).toString('utf8')
}

function fromSchemas(dice: Dice, make: FromSchema): Asked {
  const { route, body, query } = dice.pick(table)
  const path = route.path.replace(/:\w+/g, () => encodeURIComponent(dice.chance(0.9) ? dice.pick(ids) : asText(dice.pick(NASTY))))
  const asked = query ? (make.make(query) as Json | null) : null
  const search = new URLSearchParams()
  for (const [key, value] of Object.entries(typeof asked === 'object' && asked ? asked : {}))
    search.set(key, typeof value === 'object' ? JSON.stringify(value) : String(value))
  const text = search.toString()
  return {
    method: route.method,
    url: text === '' ? path : `${path}?${text}`,
    headers: { 'x-tapewarden': '1', ...(body ? { 'content-type': 'application/json' } : {}) },
    ...(body ? { payload: JSON.stringify(make.make(body)) ?? 'null' } : {}),
  }
}

const HEADERS = [
  'if-match',
  'idempotency-key',
  'content-type',
  'authorization',
  'cookie',
  'x-tapewarden',
  'origin',
  'sec-fetch-site',
  'accept',
]
function atRandom(dice: Dice, make: FromSchema): Asked {
  const asked = fromSchemas(dice, make)
  const noise = () => Array.from({ length: dice.below(40) }, () => String.fromCharCode(33 + dice.below(94))).join('')
  if (dice.chance(0.3)) asked.method = dice.pick(['GET', 'POST', 'PUT', 'PATCH', 'DELETE', 'OPTIONS', 'HEAD'])
  if (dice.chance(0.3)) asked.url = `/${dice.pick(['api/v1/', '', 'api/', 'docs/', 'health/'])}${encodeURI(asText(noise()))}`
  if (dice.chance(0.3)) asked.headers[dice.pick(HEADERS)] = noise() || 'x'
  if (asked.method !== 'GET' && asked.method !== 'HEAD' && dice.chance(0.6)) {
    const whole = asked.payload ?? '{}'
    asked.payload = dice.pick([noise(), whole.slice(0, dice.below(whole.length + 1)), '['.repeat(2000), `${whole}${noise()}`, '"\\ud800"'])
  }
  return asked
}

it(`answers ${COUNT} requests without a fault of its own (seed ${SEED})`, async () => {
  const dice = new Dice(SEED)
  const make = new FromSchema(dice, ids)
  const cookies = new Map<FuzzRole, string>()
  const wrong: string[] = []
  const statuses: Record<string, number> = {}
  const times = new Float64Array(COUNT)
  let warmBytes = 0
  for (let number = 0; number < COUNT; number++) {
    if (number === Math.floor(COUNT / 3)) warmBytes = heapBytes()
    const role = dice.chance(0.05) ? null : dice.pick(ROLES)
    if (role && !cookies.has(role)) cookies.set(role, await freshCookie(api, us, role))
    const asked = dice.chance(0.7) ? fromSchemas(dice, make) : atRandom(dice, make)
    if (role && asked.headers.cookie === undefined) asked.headers.cookie = cookies.get(role) as string
    const began = performance.now()
    const reply = await api.app.inject(asked as never)
    times[number] = performance.now() - began
    const status = reply.statusCode
    statuses[status] = (statuses[status] ?? 0) + 1
    if (status === 401 && role) cookies.delete(role)
    const isProblem = () =>
      String(reply.headers['content-type']).startsWith('application/problem+json') &&
      problemSchema.strict().safeParse(JSON.parse(reply.body)).success
    const ok = status < 400 || (status < 500 && (asked.method === 'HEAD' || isProblem()))
    if (!ok && wrong.length < 20)
      wrong.push(
        `${status} ${asked.method} ${asked.url.slice(0, 200)} ${JSON.stringify(asked.headers)} ${asked.payload?.slice(0, 300)} → ${reply.body.slice(0, 300)}`,
      )
  }
  const growth = heapBytes() / warmBytes - 1
  const sorted = times.toSorted()
  const worst = (share: number) => Math.round((sorted[Math.floor(COUNT * share)] ?? 0) * 10) / 10
  report('A1', 'fuzzed requests at every route', {
    requests: COUNT,
    seed: SEED,
    wrong: wrong.length,
    ...Object.fromEntries(Object.entries(statuses).map(([status, count]) => [`status${status}`, count])),
    heapGrowthPercent: Math.round(growth * 1000) / 10,
    medianMs: worst(0.5),
    p99Ms: worst(0.99),
  })
  expect(wrong).toEqual([])
  expect(statuses['200'] ?? 0).toBeGreaterThan(COUNT * 0.05)
  expect(growth).toBeLessThan(0.1)
})
