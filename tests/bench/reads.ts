/**
 * P9 of speed.md: CPU a request of the api against a bare Nest route that sends the same statements through the same driver
 * (transaction, set_config and the look-up of the session among them); and how long reads take with 10 000 machines.
 * 70 % of the bare route's requests a second are 1/0.7 of its CPU time a request.
 */
import { runPlanningPass } from '@tapewarden/persistence'
import { REQUEST_HEADER } from '@tapewarden/shared'
import { Agent, request as httpRequest } from 'node:http'
import { type BenchResult, summarise } from './result.js'
import { makeFleet } from './support-fleet.js'
import { givePassword, Server, signIn } from './support-api.js'
import { type BenchServer, startBenchServer } from './support-server.js'

const MACHINES = 10_000
const REPETITIONS = 5
const AT_ONCE = 4
const REQUESTS = 400
const CPU_GOAL = 1 / 0.7
const P95_MS = 300
const agent = new Agent({ keepAlive: true, maxSockets: AT_ONCE })

/** One request; its time in ms. */
function get(url: string, cookie: string): Promise<number> {
  const began = performance.now()
  return new Promise((done, failed) => {
    const asked = httpRequest(url, { agent, headers: { cookie, [REQUEST_HEADER]: '1' } }, (reply) => {
      reply.resume()
      reply.on('end', () =>
        reply.statusCode === 200 ? done(performance.now() - began) : failed(new Error(`${reply.statusCode} at ${url}`)),
      )
    })
    asked.on('error', failed)
    asked.end()
  })
}

/** So many requests, some at once; the time of each. */
async function many(url: string, cookie: string, count: number): Promise<number[]> {
  const times: number[] = []
  let left = count
  await Promise.all(
    Array.from({ length: AT_ONCE }, async () => {
      while (left-- > 0) times.push(await get(url, cookie))
    }),
  )
  return times
}

async function cpuOf(server: Server, address: string, cookie: string): Promise<number> {
  const before = await server.cpuMicroseconds()
  await many(address, cookie, REQUESTS)
  return ((await server.cpuMicroseconds()) - before) / REQUESTS
}

async function compare(product: Server, bare: Server, name: string, path: string, cookie: string): Promise<BenchResult> {
  const address = `${product.url}/api/v1/${path}`
  const bareAddress = `${bare.url}/read/${name}`
  await get(address, cookie)
  await product.recording(true)
  await get(address, cookie)
  const statements = await product.recording(false)
  await bare.know(name, statements)
  await many(address, cookie, REQUESTS)
  await many(bareAddress, cookie, REQUESTS)
  const ratios: number[] = []
  let [ours, floor] = [0, 0]
  for (let repetition = 0; repetition < REPETITIONS; repetition += 1) {
    const first = repetition % 2 === 0
    if (first) floor = await cpuOf(bare, bareAddress, cookie)
    ours = await cpuOf(product, address, cookie)
    if (!first) floor = await cpuOf(bare, bareAddress, cookie)
    ratios.push(ours / floor)
  }
  return summarise(
    `P9 CPU a read, ${name}`,
    ratios,
    CPU_GOAL,
    `${(ours / 1000).toFixed(2)} ms of CPU a request against ${(floor / 1000).toFixed(2)} bare, ${statements.length} statements; ${MACHINES} machines`,
  )
}

async function p95(product: Server, name: string, path: string, cookie: string, count: number): Promise<BenchResult> {
  const address = `${product.url}/api/v1/${path}`
  await get(address, cookie)
  const ratios: number[] = []
  const all: number[] = []
  for (let repetition = 0; repetition < REPETITIONS; repetition += 1) {
    const times = (await many(address, cookie, count)).sort((a, b) => a - b)
    all.push(...times)
    ratios.push((times[Math.ceil(0.95 * times.length) - 1] as number) / P95_MS)
  }
  all.sort((a, b) => a - b)
  const at = (share: number): string => (all[Math.ceil(share * all.length) - 1] as number).toFixed(0)
  return summarise(
    `P9 p95 of ${name}`,
    ratios,
    1,
    `${at(0.5)} ms in the middle, ${at(0.95)} ms at 95 % of ${all.length}, ${AT_ONCE} at once; ${MACHINES} machines`,
  )
}

async function prepared(server: BenchServer): Promise<{ now: string; machineId: string; label: string }> {
  const fleet = await makeFleet(server.owner, MACHINES, 30)
  const now = `${fleet.today}T10:00:00Z`
  await runPlanningPass(server.database, { ...fleet, now: new Date(now) })
  await givePassword(server.owner, fleet.organisationId)
  await server.owner.query('ANALYZE')
  const { rows } = await server.owner.query<{ id: string; label: string }>(
    `SELECT id, label_code AS label FROM machine WHERE organisation_id = $1 AND label_code = 'L5000'`,
    [fleet.organisationId],
  )
  return { now, machineId: rows[0]?.id ?? '', label: rows[0]?.label ?? '' }
}

export async function run(): Promise<BenchResult[]> {
  const server = await startBenchServer()
  const { now, machineId, label } = await prepared(server)
  const product = await Server.start('product', server.appUrl, now)
  const bare = await Server.start('bare', server.appUrl, now)
  try {
    const cookie = await signIn(product.url)
    const hot: [string, string][] = [
      ['machine-by-label', `machine-labels/${label}`],
      ['forecasts-of-a-machine', `machines/${machineId}/forecasts`],
      ['machines-page', 'machines?limit=50'],
    ]
    const all: [string, string, number][] = [
      ...hot.map(([name, path]): [string, string, number] => [name, path, 100]),
      ['search-by-label', 'machines?search=L99&order=closest&limit=8', 100],
      ['one-machine', `machines/${machineId}`, 100],
      ['this-week', 'this-week', 20],
      ['coming-up', 'coming-up?weeks=13', 20],
      ['review', 'review?from=2025-02-01&to=2026-01-31', 20],
      ['life-curve', 'review/life-curve', 20],
    ]
    const results: BenchResult[] = []
    for (const [name, path] of hot) results.push(await compare(product, bare, name, path, cookie))
    for (const [name, path, count] of all) results.push(await p95(product, name, path, cookie, count))
    return results
  } finally {
    product.end()
    bare.end()
    agent.destroy()
    await server.stop()
  }
}
