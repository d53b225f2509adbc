/** Works through an import in the background: the dry run, and the writing. One process at a time, by a lease. */
import { Injectable, type OnModuleDestroy } from '@nestjs/common'
import type { Import } from '@tapewarden/shared'
import { type Asking, type Changing, type Reading, Work } from '../use/work.js'
import { lastPosition, type Part, partAfter, saidOf, type Told, tellPart } from './import-parts.js'
import { type ImportRow, importRow } from './import-rows.js'
import { Judge, judgesUnwritten } from './judge.js'

const LEASE_SECONDS = 60

class Stopped extends Error {}
class NothingWritten extends Error {}

type Counts = Import['counts']
const NONE: Counts = { new: 0, changed: 0, unchanged: 0, refused: 0, applied: 0 }

const plus = (a: Counts, b: Counts): Counts => ({
  new: a.new + b.new,
  changed: a.changed + b.changed,
  unchanged: a.unchanged + b.unchanged,
  refused: a.refused + b.refused,
  applied: a.applied + b.applied,
})

/** By how much a part moves the counts: from what its rows were found to be before to what they are now. */
function movedBy(part: Part, told: Told, applied: boolean): Counts {
  const counts = { ...NONE }
  told.results.forEach(({ outcome }, at) => {
    const was = saidOf(part, at)
    if (was) counts[was.outcome]--
    counts[outcome]++
    counts.applied += Number(applied && outcome !== 'refused') - Number(was?.applied ?? false)
  })
  return counts
}

/** @returns by how much the counts move; `step` or `end` keeps them */
async function keep(changing: Changing, row: ImportRow, part: Part, told: Told, applied: boolean): Promise<Counts> {
  await tellPart(changing, row.id, part, told, applied)
  return movedBy(part, told, applied)
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

  /** What stood in the parts before is known again, wherever this process takes the work over. */
  private async judgeOf(asking: Asking, row: ImportRow, upTo: number): Promise<Judge> {
    const judge = new Judge(row)
    for (let at = 0; at < upTo;) {
      const part = await this.work.read(asking, (reading) => this.part(reading, row, at))
      judge.remember(part)
      at = lastPosition(part)
    }
    return judge
  }

  private async check(asking: Asking, row: ImportRow): Promise<void> {
    const judge = await this.judgeOf(asking, row, row.workedPosition)
    for (let at = row.workedPosition; at < row.rowCount;) at = await this.checkPart(asking, row, judge, at)
    await this.work.change(asking, (changing) => this.end(changing, row, 'checked', null))
  }

  /** @returns the position that it has come to */
  private async checkPart(asking: Asking, row: ImportRow, judge: Judge, at: number): Promise<number> {
    const look = async (changing: Changing): Promise<[Part, Told]> => {
      const part = await this.part(changing, row, at)
      return [part, await judge.judge(changing, part, false)]
    }
    const note = async (changing: Changing, [part, told]: [Part, Told]): Promise<number> => {
      await this.step(changing, row, lastPosition(part), await keep(changing, row, part, told, false))
      return lastPosition(part)
    }
    if (judgesUnwritten(row.kind)) return this.work.change(asking, async (changing) => note(changing, await look(changing)))
    // Written for real, looked at, and taken back.
    const seen = await this.work.rehearse(asking, look)
    return this.work.change(asking, (changing) => note(changing, seen))
  }

  private apply(asking: Asking, row: ImportRow): Promise<void> {
    return row.how === 'all_or_nothing' ? this.applyWhole(asking, row) : this.applyGood(asking, row)
  }

  private async applyGood(asking: Asking, row: ImportRow): Promise<void> {
    const judge = await this.judgeOf(asking, row, row.workedPosition)
    for (let at = row.workedPosition; at < row.rowCount;)
      at = await this.work.change(asking, async (changing) => {
        const part = await this.part(changing, row, at)
        const told = await judge.judge(changing, part, true)
        await this.step(changing, row, lastPosition(part), await keep(changing, row, part, told, true))
        return lastPosition(part)
      })
    await this.work.change(asking, (changing) => this.end(changing, row, 'applied', null))
  }

  private async applyWhole(asking: Asking, row: ImportRow): Promise<void> {
    const judge = new Judge(row)
    let moved = NONE
    try {
      await this.work.change(asking, async (changing) => {
        for (let at = 0; at < row.rowCount;) {
          const part = await this.part(changing, row, at)
          const told = await judge.judge(changing, part, true)
          at = lastPosition(part)
          if (told.results.some(({ outcome }) => outcome === 'refused')) throw new NothingWritten()
          moved = plus(moved, await keep(changing, row, part, told, true))
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

  private async part(reading: Reading, row: ImportRow, after: number): Promise<Part> {
    const part = await partAfter(reading, row.id, after)
    if (!part) throw new Error(`its rows after the first ${after} are not there. Bring the file once more.`)
    return part
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
