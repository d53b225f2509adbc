/** Works through an import in the background: the dry run, and the writing. One process at a time, by a lease. */
import { Injectable, type OnModuleDestroy } from '@nestjs/common'
import type { Import, RowFault } from '@tapewarden/shared'
import { type Asking, type Changing, Work } from '../use/work.js'
import { FIELDS, type ImportKind } from './fields.js'
import { type ImportRow, importRow, STORED_ROWS, type StoredRow } from './import-rows.js'
import type { RowResult, RowToDo } from './outcome.js'
import { faultIn, headingOf, keyOf, readRecord, type Settings } from './records.js'
import { writeComponents, writeMachines } from './write-machines.js'
import { writeServiceHistory } from './write-past.js'
import { writeStations, writeWarehouses } from './write-places.js'
import { writeCartons, writeEvidence, writeRolls, writeTaps } from './write-use.js'

const WRITE: Readonly<Record<ImportKind, (changing: Changing, rows: readonly RowToDo[], forGood: boolean) => Promise<RowResult[]>>> = {
  warehouses: writeWarehouses,
  stations: writeStations,
  machines: writeMachines,
  components: writeComponents,
  evidence: writeEvidence,
  cartons: writeCartons,
  rolls: writeRolls,
  taps: writeTaps,
  service_history: writeServiceHistory,
}
/** Rows of one transaction: what goes through the forms' own use cases costs more a row. */
const CHUNK: Readonly<Record<ImportKind, number>> = {
  warehouses: 50,
  stations: 200,
  machines: 50,
  components: 200,
  evidence: 2000,
  cartons: 2000,
  rolls: 2000,
  taps: 2000,
  service_history: 500,
}
const LEASE_SECONDS = 60

class Stopped extends Error {}
class NothingWritten extends Error {}

interface Judged extends StoredRow {
  result: RowResult
  key: string | null
}

const settingsOf = (row: ImportRow): Settings => ({
  mapping: row.mapping,
  dateForm: row.dateForm ?? 'iso',
  decimalMark: row.decimalMark ?? '.',
})

function faultsOf(row: ImportRow, stored: StoredRow, result: RowResult): RowFault[] {
  if (result.outcome !== 'refused') return []
  const valueOf = (field: string): string => {
    const at = row.mapping[field]
    return at === undefined ? '' : (stored.cells[at] ?? '').trim()
  }
  const fields = FIELDS[row.kind]
  return [
    ...(result.readFaults ?? []),
    ...result.faults.map(({ field, code, problem, remedy }) => {
      const key = fields.some((one) => one.key === field) ? field : (fields[0]?.key ?? field)
      return faultIn(headingOf(row.kind, key, row.headings, row.mapping), valueOf(key), code, problem, remedy)
    }),
  ]
}

/** Earlier rows of the same file that speak of the same thing: [key, line]. */
async function earlier(changing: Changing, importId: string, keys: readonly string[], before: number): Promise<Map<string, number>> {
  const rows = await changing.rows<{ key: string; line: number }>(
    `SELECT key, min(line)::int AS line FROM import_row WHERE organisation_id = $1 AND import_id = $2 AND key = ANY($3::text[]) AND position < $4 GROUP BY key`,
    [importId, keys, before],
  )
  return new Map(rows.map(({ key, line }) => [key, line]))
}

/** Reads the cells, finds doubles, and has the rest written in the transaction given; `forGood` false: it will be taken back. */
async function judge(changing: Changing, row: ImportRow, stored: readonly StoredRow[], forGood: boolean): Promise<Judged[]> {
  const settings = settingsOf(row)
  const read = stored.map((one) => ({ one, ...readRecord(row.kind, one.cells, row.headings, settings) }))
  const keys = read.map(({ record, faults }) => (faults.length > 0 ? null : keyOf(row.kind, record)))
  const seen = await earlier(
    changing,
    row.id,
    keys.filter((key) => key !== null),
    stored[0]?.position ?? 1,
  )
  const results = new Map<number, RowResult>()
  const todo: RowToDo[] = []
  read.forEach(({ one, record, faults }, at) => {
    const key = keys[at] ?? null
    const twice = key === null ? undefined : seen.get(key)
    if (faults.length > 0) results.set(one.position, { outcome: 'refused', faults: [], readFaults: faults })
    else if (twice !== undefined) {
      const field = FIELDS[row.kind].find(({ required }) => required)?.key ?? ''
      results.set(one.position, {
        outcome: 'refused',
        faults: [{ field, code: 'TWICE', problem: `stands in line ${twice} already.`, remedy: 'Keep one of the two rows.' }],
      })
    } else {
      if (key !== null) seen.set(key, one.line)
      todo.push({ position: one.position, record })
    }
  })
  const written = await WRITE[row.kind](changing, todo, forGood)
  todo.forEach(({ position }, at) => results.set(position, written[at] as RowResult))
  return stored.map((one, at) => ({ ...one, result: results.get(one.position) as RowResult, key: keys[at] ?? null }))
}

type Counts = Import['counts']
const NONE: Counts = { new: 0, changed: 0, unchanged: 0, refused: 0, applied: 0 }

const plus = (a: Counts, b: Counts): Counts => ({
  new: a.new + b.new,
  changed: a.changed + b.changed,
  unchanged: a.unchanged + b.unchanged,
  refused: a.refused + b.refused,
  applied: a.applied + b.applied,
})

/** By how much rows move the counts: from what they were found to be before to what they are now. */
function movedBy(judged: readonly Judged[], applied: boolean): Counts {
  const counts = { ...NONE }
  for (const { outcome: was, applied: wasApplied, result } of judged) {
    if (was !== null) counts[was]--
    counts[result.outcome]++
    counts.applied += Number(applied && result.outcome !== 'refused') - Number(wasApplied)
  }
  return counts
}

/** @returns by how much the counts move; `step` or `end` keeps them */
async function keep(changing: Changing, row: ImportRow, judged: readonly Judged[], applied: boolean): Promise<Counts> {
  const faults = judged.map((one) => faultsOf(row, one, one.result))
  await changing.run(
    `UPDATE import_row i SET outcome = r.outcome, faults = r.faults::jsonb, key = r.key, applied = $8 AND r.outcome <> 'refused', effect = CASE WHEN $8 THEN r.effect::jsonb END
     FROM unnest($3::int[], $4::text[], $5::text[], $6::text[], $7::text[]) AS r(position, outcome, faults, key, effect)
     WHERE i.organisation_id = $1 AND i.import_id = $2 AND i.position = r.position`,
    [
      row.id,
      judged.map(({ position }) => position),
      judged.map(({ result }) => result.outcome),
      faults.map((of) => (of.length === 0 ? null : JSON.stringify(of))),
      judged.map(({ key }) => key),
      judged.map(({ result }) =>
        !applied || result.outcome === 'refused' || result.effect === null ? null : JSON.stringify(result.effect),
      ),
      applied,
    ],
  )
  return movedBy(judged, applied)
}

const COUNTS_MOVED = (at: number): string =>
  `counts = (SELECT jsonb_object_agg(k.key, k.value::int + ($${at}::jsonb ->> k.key)::int) FROM jsonb_each_text(counts) AS k)`

@Injectable()
export class ImportRunner implements OnModuleDestroy {
  private readonly under = new Map<string, Promise<void>>()
  private ending = false

  constructor(private readonly work: Work) {}

  /** Begins, or goes on with what a process that died has left. Returns at once. */
  kick({ who, now, requestId }: Asking, importId: string): void {
    if (this.under.has(importId) || this.ending) return
    const done = this.run({ who, now, requestId }, importId)
      .catch(() => undefined)
      .finally(() => this.under.delete(importId))
    this.under.set(importId, done)
  }

  /** For tests and for the end of the process. */
  async settled(): Promise<void> {
    await Promise.all(this.under.values())
  }

  async onModuleDestroy(): Promise<void> {
    this.ending = true
    await this.settled()
  }

  private async run(asking: Asking, importId: string): Promise<void> {
    const row = await this.claim(asking, importId)
    if (!row) return
    try {
      if (row.state === 'checking') await this.check(asking, row)
      else await this.apply(asking, row)
    } catch (error) {
      if (!(error instanceof Stopped)) await this.fail(asking, row, error)
    }
  }

  private async claim(asking: Asking, importId: string): Promise<ImportRow | null> {
    return this.work.change(asking, async (changing) => {
      const claimed = await changing.run(
        `UPDATE import SET lease_until = clock_timestamp() + make_interval(secs => $3)
         WHERE organisation_id = $1 AND id = $2 AND state IN ('checking', 'applying') AND (lease_until IS NULL OR lease_until < clock_timestamp())`,
        [importId, LEASE_SECONDS],
      )
      return claimed === 1 ? importRow(changing, importId) : null
    })
  }

  /** Every chunk is written for real, looked at, and taken back; evidence is judged before it is written, and not written here. */
  private async check(asking: Asking, row: ImportRow): Promise<void> {
    for (let at = row.workedPosition; at < row.rowCount;) {
      const judged = await this.work.rehearse(asking, async (changing) => judge(changing, row, await this.chunk(changing, row, at), false))
      at = judged.at(-1)?.position ?? row.rowCount
      await this.work.change(asking, async (changing) => this.step(changing, row, at, await keep(changing, row, judged, false)))
    }
    await this.work.change(asking, (changing) => this.end(changing, row, 'checked', null))
  }

  private apply(asking: Asking, row: ImportRow): Promise<void> {
    return row.how === 'all_or_nothing' ? this.applyWhole(asking, row) : this.applyGood(asking, row)
  }

  private async applyGood(asking: Asking, row: ImportRow): Promise<void> {
    for (let at = row.workedPosition; at < row.rowCount;)
      at = await this.work.change(asking, async (changing) => {
        const judged = await judge(changing, row, await this.chunk(changing, row, at), true)
        const end = judged.at(-1)?.position ?? row.rowCount
        await this.step(changing, row, end, await keep(changing, row, judged, true))
        return end
      })
    await this.work.change(asking, (changing) => this.end(changing, row, 'applied', null))
  }

  private async applyWhole(asking: Asking, row: ImportRow): Promise<void> {
    let moved = NONE
    try {
      await this.work.change(asking, async (changing) => {
        for (let at = 0; at < row.rowCount;) {
          const judged = await judge(changing, row, await this.chunk(changing, row, at), true)
          at = judged.at(-1)?.position ?? row.rowCount
          if (judged.some(({ result }) => result.outcome === 'refused')) throw new NothingWritten()
          moved = plus(moved, await keep(changing, row, judged, true))
          // Seen by others while this transaction is still open.
          await this.work.change(asking, (beside) => this.step(beside, row, at, NONE))
        }
        // Cancelled at the last moment: nothing is written.
        if (!(await this.end(changing, row, 'applied', null, moved))) throw new Stopped()
      })
    } catch (error) {
      if (!(error instanceof NothingWritten)) throw error
      await this.work.change(asking, (changing) =>
        this.end(
          changing,
          row,
          'checked',
          'A row that was good in the dry run is not any more. Nothing was written; look at the rows again.',
        ),
      )
    }
  }

  private chunk(changing: Changing, row: ImportRow, after: number): Promise<StoredRow[]> {
    return changing.rows<StoredRow>(`${STORED_ROWS} AND position > $3 ORDER BY position LIMIT $4`, [row.id, after, CHUNK[row.kind]])
  }

  /** @throws Stopped where it was cancelled, or this process ends: the next one goes on from here */
  private async step(changing: Changing, row: ImportRow, at: number, moved: Counts): Promise<void> {
    const going = await changing.run(
      `UPDATE import SET worked_position = $3, lease_until = clock_timestamp() + make_interval(secs => $5), ${COUNTS_MOVED(6)}
       WHERE organisation_id = $1 AND id = $2 AND state = $4`,
      [row.id, at, row.state, LEASE_SECONDS, JSON.stringify(moved)],
    )
    if (going === 0 || this.ending) throw new Stopped()
  }

  /** @returns whether it was still in the state in which it was begun */
  private async end(
    changing: Changing,
    row: ImportRow,
    state: 'checked' | 'applied' | 'failed',
    problem: string | null,
    moved: Counts = NONE,
  ): Promise<boolean> {
    const ended = await changing.run(
      `UPDATE import SET state = $3, problem = $4, lease_until = NULL, ended_at = $5, ${COUNTS_MOVED(7)} WHERE organisation_id = $1 AND id = $2 AND state = $6`,
      [row.id, state, problem, state === 'checked' ? null : changing.now, row.state, JSON.stringify(moved)],
    )
    if (ended === 1 && state === 'applied')
      changing.note({
        action: 'import',
        subjectKind: 'import',
        subjectId: row.id,
        after: { kind: row.kind, fileName: row.fileName, how: row.how },
      })
    return ended === 1
  }

  private async fail(asking: Asking, row: ImportRow, error: unknown): Promise<void> {
    const words = error instanceof Error ? error.message : String(error)
    await this.work.change(asking, (changing) => this.end(changing, row, 'failed', `The work stopped: ${words.slice(0, 300)}`))
  }
}
