/**
 * P7 of speed.md: a file of readings through the whole import (read, dry run, written), against COPY of the same rows into a
 * staging table and INSERT from there. IMPORT_ROWS says how many; one row in a hundred is wrong and must be told with its line.
 */
import { REQUEST_HEADER } from '@tapewarden/shared'
import { Readable } from 'node:stream'
import { pipeline } from 'node:stream/promises'
import { from as copyFrom } from 'pg-copy-streams'
import { type BenchResult, summarise } from './result.js'
import { givePassword, Server, signIn } from './support-api.js'
import { type Fleet, makeFleet } from './support-fleet.js'
import { type BenchServer, startBenchServer } from './support-server.js'

const ROWS = Number(process.env.IMPORT_ROWS ?? 20_000)
const MACHINES = 1000
/** Of the label of a machine that there is not. */
const WRONG_EVERY = 100
const FIRST_DAY = Date.parse('2023-01-02T00:00:00Z')
const HEAD = 'Label code,Kind,Date,Value\n'
const NO_OVERLAP_GOAL = 1 / 0.7
const DUPLICATES_GOAL = 1 / 0.3
const REPETITIONS = ROWS > 50_000 ? 1 : 5

/** Strips a day of many machines, day by day; a repetition has years of its own, so that nothing overlaps. */
function* lines(repetition: number): Generator<string> {
  for (let row = 0; row < ROWS; row += 1) {
    const day = new Date(FIRST_DAY + (Math.floor(row / MACHINES) - repetition * 1100) * 86_400_000).toISOString().slice(0, 10)
    const label = row % WRONG_EVERY === WRONG_EVERY - 1 ? `NONE-${row}` : `L${1 + (row % MACHINES)}`
    yield `${label},strips a day,${day},${400 + ((row * 7919) % 700)}\n`
  }
}

/** References of the real tables, which no copy of a table's columns and indexes brings along. */
async function withReferences({ owner }: BenchServer): Promise<void> {
  const { rows } = await owner.query<{ clause: string }>(
    `SELECT format('ALTER TABLE bench_%s ADD %s', c.conrelid::regclass, pg_get_constraintdef(c.oid)) AS clause
     FROM pg_constraint c WHERE c.contype = 'f' AND c.conrelid IN ('evidence'::regclass, 'evidence_key'::regclass) AND c.confrelid <> 'evidence'::regclass`,
  )
  for (const { clause } of rows) await owner.query(clause)
}

/**
 * The floor: the same rows, good ones only, through COPY and one INSERT into a table of the same columns, keys and indexes.
 * @param checked  with the references of the real table as well, which PostgreSQL looks up row by row
 */
async function bare(server: BenchServer, fleet: Fleet, repetition: number, checked: boolean): Promise<number> {
  const { owner } = server
  await owner.query(`DROP TABLE IF EXISTS bench_staging, bench_evidence, bench_key;
    CREATE UNLOGGED TABLE bench_staging (label text, kind text, day date, amount float8);
    CREATE TABLE bench_evidence (LIKE evidence INCLUDING ALL); CREATE TABLE bench_key (LIKE evidence_key INCLUDING ALL)`)
  if (checked) await withReferences(server)
  const began = performance.now()
  await pipeline(Readable.from(lines(repetition)), owner.query(copyFrom('COPY bench_staging FROM STDIN (FORMAT csv)')))
  await owner.query(
    `WITH made AS (INSERT INTO bench_evidence (organisation_id, id, kind, warehouse_id, machine_id, from_date, to_date, amount, source, external_id, created_at)
       SELECT $1, uuidv7(), 'strips_day', $2, m.id, s.day, s.day, s.amount, 'import', 'strips_day|' || s.label || '|' || s.day || '|', now()
       FROM bench_staging s JOIN machine m ON m.organisation_id = $1 AND m.label_code = s.label RETURNING id, external_id)
     INSERT INTO bench_key (organisation_id, source, external_id, evidence_id) SELECT $1, 'import', external_id, id FROM made`,
    [fleet.organisationId, fleet.warehouseId],
  )
  return performance.now() - began
}

interface Progress {
  id: string
  state: string
  rowCount: number
  workedCount: number
  counts: { new: number; unchanged: number; refused: number; applied: number }
  mapping: Record<string, number>
}
interface Passed {
  ms: { read: number; dryRun: number; written: number }
  megabytes: number[]
  progress: number
  last: Progress
}

type Body = NonNullable<RequestInit['body']>

class Importing {
  constructor(
    private readonly api: Server,
    private readonly cookie: string,
  ) {}

  private async ask<Answer>(method: string, path: string, body?: Body, type = 'application/json'): Promise<Answer> {
    const headers = { cookie: this.cookie, [REQUEST_HEADER]: '1', ...(body === undefined ? {} : { 'content-type': type }) }
    const reply = await fetch(`${this.api.url}/api/v1/${path}`, {
      method,
      headers,
      ...(body === undefined ? {} : { body, duplex: 'half' }),
    } as RequestInit)
    if (!reply.ok) throw new Error(`${method} ${path} answered ${reply.status}: ${(await reply.text()).slice(0, 300)}`)
    return (await reply.json()) as Answer
  }

  /** Asks until it has ended, noting memory and that the count of rows goes on. */
  private async until(id: string, states: readonly string[], megabytes: number[]): Promise<{ now: Progress; steps: number }> {
    const seen = new Set<number>()
    for (;;) {
      const now = await this.ask<Progress>('GET', `imports/${id}`)
      seen.add(now.workedCount)
      megabytes.push(await this.api.residentMegabytes())
      if (states.includes(now.state)) return { now, steps: seen.size }
      await new Promise((later) => setTimeout(later, ROWS > 50_000 ? 250 : 50))
    }
  }

  async bring(repetition: number): Promise<Passed> {
    const megabytes = [await this.api.residentMegabytes()]
    const began = performance.now()
    const file = Readable.toWeb(Readable.from([Buffer.from(HEAD), ...chunks(repetition)])) as unknown as Body
    const read = await this.ask<Progress>('POST', 'imports?kind=evidence&fileName=readings.csv', file, 'application/octet-stream')
    megabytes.push(await this.api.residentMegabytes())
    const readMs = performance.now() - began
    await this.ask('PUT', `imports/${read.id}/mapping`, JSON.stringify({ mapping: read.mapping }))
    const checked = await this.until(read.id, ['checked', 'failed'], megabytes)
    const dryRunMs = performance.now() - began - readMs
    await this.ask('POST', `imports/${read.id}/applying`, JSON.stringify({ how: 'good_rows' }))
    const { now, steps } = await this.until(read.id, ['applied', 'failed'], megabytes)
    const written = performance.now() - began - readMs - dryRunMs
    return { ms: { read: readMs, dryRun: dryRunMs, written }, megabytes, progress: checked.steps + steps, last: now }
  }

  async firstFaultLine(id: string): Promise<number> {
    const { items } = await this.ask<{ items: { line: number }[] }>('GET', `imports/${id}/rows?outcome=refused&limit=1`)
    return items[0]?.line ?? 0
  }
}

function* chunks(repetition: number): Generator<Buffer> {
  let text = ''
  for (const line of lines(repetition)) {
    text += line
    if (text.length < 65_536) continue
    yield Buffer.from(text)
    text = ''
  }
  yield Buffer.from(text)
}

const sum = ({ read, dryRun, written }: Passed['ms']): number => read + dryRun + written
const wrong = Math.floor(ROWS / WRONG_EVERY)

function checkPassed({ last }: Passed, expected: Partial<Progress['counts']>): void {
  for (const [key, value] of Object.entries(expected))
    if (last.counts[key as keyof Progress['counts']] !== value)
      throw new Error(`${key} should be ${value}: ${JSON.stringify(last.counts)}, ${last.state}`)
}

const said = ({ ms, megabytes, progress }: Passed): string =>
  `${ROWS} rows in ${(sum(ms) / 1000).toFixed(1)} s (read ${(ms.read / 1000).toFixed(1)}, dry run ${(ms.dryRun / 1000).toFixed(1)}, written ${(ms.written / 1000).toFixed(1)}), ${wrong} told with their line; memory ${Math.round(Math.min(...megabytes))} to ${Math.round(Math.max(...megabytes))} MB, progress seen at ${progress} places`

export async function run(): Promise<BenchResult[]> {
  const server = await startBenchServer()
  const fleet = await makeFleet(server.owner, MACHINES, 1)
  // Readings lie years back: the machines stood there then.
  await server.owner.query(`UPDATE placement SET from_at = '2010-01-01T00:00:00Z' WHERE organisation_id = $1`, [fleet.organisationId])
  await givePassword(server.owner, fleet.organisationId)
  const api = await Server.start('product', server.appUrl, `${fleet.today}T10:00:00Z`)
  try {
    const importing = new Importing(api, await signIn(api.url))
    const [fresh, freshChecked, again]: [number[], number[], number[]] = [[], [], []]
    let [first, second]: (Passed | null)[] = [null, null]
    for (let repetition = 0; repetition < REPETITIONS; repetition += 1) {
      const floor = await bare(server, fleet, repetition, false)
      const checkedFloor = await bare(server, fleet, repetition, true)
      first = await importing.bring(repetition)
      checkPassed(first, { new: ROWS - wrong, refused: wrong, applied: ROWS - wrong })
      if ((await importing.firstFaultLine(first.last.id)) !== WRONG_EVERY + 1)
        throw new Error('the first wrong row is not told with its line')
      second = await importing.bring(repetition)
      checkPassed(second, { new: 0, unchanged: ROWS - wrong, refused: wrong })
      fresh.push(sum(first.ms) / floor)
      freshChecked.push(sum(first.ms) / checkedFloor)
      again.push(sum(second.ms) / floor)
    }
    return [
      summarise('P7 import without overlap, against COPY and INSERT', fresh, NO_OVERLAP_GOAL, first ? said(first) : ''),
      summarise('P7 likewise, against COPY and INSERT with the references of the real tables', freshChecked, null, ''),
      summarise('P7 import of what is there already', again, DUPLICATES_GOAL, second ? said(second) : ''),
    ]
  } finally {
    api.end()
    await server.stop()
  }
}
