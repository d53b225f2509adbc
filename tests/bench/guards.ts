/** What the two guards between organisations cost: the same work as the application's role, named organisation and all, and with neither. */
import { readdirSync, readFileSync } from 'node:fs'
import { createPool, type Database, PgScope, planningMath, runPlanningPassWith } from '@tapewarden/persistence'
import pg from 'pg'
import { type BenchResult, summarise } from './result.js'
import { type Fleet, makeFleet } from './support-fleet.js'
import { type BenchServer, startBenchServer } from './support-server.js'

const REPETITIONS = 7
const READS = 1500
const READINGS = 60
/** USER_HZ of Linux on every machine that we know. */
const MS_PER_TICK = 10

/** What the pages ask most: a page of one warehouse's dates, the soonest first, and one machine. */
const HOT = `SELECT f.machine_id, m.label_code, f.service_task_id, f.early_on, f.likely_on, f.late_on FROM forecast f
  JOIN machine m ON m.organisation_id = f.organisation_id AND m.id = f.machine_id
  WHERE f.organisation_id = $1 AND f.warehouse_id = $2 AND f.likely_on IS NOT NULL ORDER BY f.likely_on, f.machine_id LIMIT 50`
const ONE = `SELECT id, label_code, status, note, version FROM machine WHERE organisation_id = $1 AND id = $2`

type Work = (scope: PgScope) => Promise<unknown>
type Way = (organisationId: string, work: Work) => Promise<unknown>

interface Cpu {
  parent: number
  ms: number
  ofEndedChildrenMs: number
}
function cpuOf(pid: number): Cpu | null {
  try {
    // The name in brackets may hold blanks; the fields are counted after it.
    const fields = readFileSync(`/proc/${pid}/stat`, 'utf8')
      .replace(/^.*\) /, '')
      .split(' ')
      .map(Number)
    const [, parent = 0] = fields
    const at = (index: number): number => (fields[index] ?? 0) * MS_PER_TICK
    return { parent, ms: at(11) + at(12), ofEndedChildrenMs: at(13) + at(14) }
  } catch {
    return null
  }
}

/** Of the server with all its processes, and of this one. */
function spentMs(postmaster: number): number {
  const own = process.cpuUsage()
  let sum = (own.user + own.system) / 1000 + (cpuOf(postmaster)?.ofEndedChildrenMs ?? 0)
  for (const name of readdirSync('/proc').filter((one) => /^\d+$/.test(one))) {
    const cpu = cpuOf(Number(name))
    if (cpu?.parent === postmaster) sum += cpu.ms
  }
  return sum
}

async function postmasterOf(owner: pg.Client): Promise<number> {
  const { rows } = await owner.query<{ pid: number }>('SELECT pg_backend_pid() AS pid')
  const parent = cpuOf(rows[0]?.pid ?? 0)?.parent
  if (parent === undefined) throw new Error('this bench reads /proc, which is not there')
  return parent
}

/** A superuser whom no policy holds; no organisation is named. Each read by itself, or in a transaction where the work needs one. */
function unguarded(pool: pg.Pool, inTransaction: boolean): Way {
  return async (organisationId, work) => {
    const client = await pool.connect()
    try {
      if (inTransaction) await client.query('BEGIN')
      const answer = await work(new PgScope(organisationId, client))
      if (inTransaction) await client.query('COMMIT')
      return answer
    } finally {
      client.release()
    }
  }
}

async function ratiosOf(postmaster: number, guardedWork: () => Promise<unknown>, bareWork: () => Promise<unknown>): Promise<number[]> {
  const ratios: number[] = []
  const cost = async (work: () => Promise<unknown>): Promise<number> => {
    global.gc?.()
    const before = spentMs(postmaster)
    await work()
    return spentMs(postmaster) - before
  }
  for (let round = 0; round <= REPETITIONS; round++) {
    // In turns: neither is always the second.
    const [first, second] = round % 2 ? [guardedWork, bareWork] : [bareWork, guardedWork]
    const [a, b] = [await cost(first), await cost(second)]
    if (round > 0) ratios.push(round % 2 ? a / b : b / a)
  }
  return ratios
}

async function measureReads(server: BenchServer, fleet: Fleet, pool: pg.Pool, postmaster: number): Promise<BenchResult[]> {
  const { rows } = await server.owner.query<{ id: string }>('SELECT id FROM machine WHERE organisation_id = $1 LIMIT 1', [
    fleet.organisationId,
  ])
  const reads: [string, string, string][] = [
    ['a page of dates', HOT, fleet.warehouseId],
    ['one machine', ONE, rows[0]?.id ?? ''],
  ]
  const results: BenchResult[] = []
  for (const [name, text, id] of reads) {
    const loop = (way: Way) => async (): Promise<void> => {
      for (let n = 0; n < READS; n++) await way(fleet.organisationId, (scope) => scope.rows(text, [fleet.organisationId, id]))
    }
    const guarded: Way = (organisationId, work) => server.database.withOrganisationSql(organisationId, work)
    const ratios = await ratiosOf(postmaster, loop(guarded), loop(unguarded(pool, false)))
    results.push(
      summarise(
        `guards, CPU of a hot read: ${name}`,
        ratios,
        1.25,
        `${READS} reads each; api and server together; begin and scope in one round trip`,
      ),
    )
  }
  return results
}

async function measurePass(server: BenchServer, fleet: Fleet, pool: pg.Pool, postmaster: number): Promise<BenchResult> {
  const bare = { withOrganisationSql: unguarded(pool, true) } as unknown as Database
  const pass = (database: Database) => () =>
    runPlanningPassWith(planningMath, database, { ...fleet, now: new Date(`${fleet.today}T04:00:00Z`) })
  await pass(server.database)()
  const ratios = await ratiosOf(postmaster, pass(server.database), pass(bare))
  return summarise(
    'guards, CPU of a planning pass',
    ratios,
    1.05,
    'a pass that finds everything as it was: reading and computing, nothing to write',
  )
}

export async function run({ sizes }: { sizes: readonly number[] }): Promise<BenchResult[]> {
  const size = sizes[0] ?? 1000
  const server = await startBenchServer()
  const ownerUrl = new URL(server.appUrl)
  const { user, password } = server.owner
  ownerUrl.username = user ?? 'postgres'
  ownerUrl.password = encodeURIComponent(typeof password === 'string' ? password : '')
  // Reads rows as the application's own pool does.
  const pool = createPool({ url: ownerUrl.href, applicationName: 'bench without guards', most: 4 })
  try {
    const fleet = await makeFleet(server.owner, size, READINGS)
    await runPlanningPassWith(planningMath, server.database, { ...fleet, now: new Date(`${fleet.today}T04:00:00Z`) })
    await server.owner.query('VACUUM ANALYZE')
    const postmaster = await postmasterOf(server.owner)
    return [...(await measureReads(server, fleet, pool, postmaster)), await measurePass(server, fleet, pool, postmaster)]
  } finally {
    await pool.end()
    await server.stop()
  }
}
