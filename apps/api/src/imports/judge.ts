/** What becomes of the rows of a part: read, doubles in the file found, the rest written in the transaction given. */
import type { RowFault } from '@tapewarden/shared'
import type { Changing } from '../use/work.js'
import { FIELDS, type ImportKind } from './fields.js'
import type { Part, Told } from './import-parts.js'
import type { ImportRow } from './import-rows.js'
import type { RowResult, RowToDo } from './outcome.js'
import type { RowOfCells } from './read/file-refused.js'
import { faultIn, headingOf, keyOf, type ReadRecord, recordReader } from './records.js'
import { SeenKeys } from './seen-keys.js'
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
/** Evidence is judged before it is written; the rest is written, and the dry run takes it back. */
export const judgesUnwritten = (kind: ImportKind): boolean => USE.includes(kind)
const USE: readonly ImportKind[] = ['evidence', 'cartons', 'rolls', 'taps']

function faultsOf(row: ImportRow, { cells }: RowOfCells, result: RowResult & { outcome: 'refused' }): RowFault[] {
  const valueOf = (field: string): string => {
    const at = row.mapping[field]
    return at === undefined ? '' : (cells[at] ?? '').trim()
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

function twice(kind: ImportKind, line: number): RowResult {
  const field = FIELDS[kind].find(({ required }) => required)?.key ?? ''
  return {
    outcome: 'refused',
    faults: [{ field, code: 'TWICE', problem: `stands in line ${line} already.`, remedy: 'Keep one of the two rows.' }],
  }
}

/** Judges the parts of one file, from its first on: it knows what stood in those before. */
export class Judge {
  private readonly seen = new SeenKeys()
  private readonly read: (cells: readonly string[]) => ReadRecord

  constructor(private readonly row: ImportRow) {
    const { kind, headings, mapping, dateForm, decimalMark } = row
    this.read = recordReader(kind, headings, { mapping, dateForm: dateForm ?? 'iso', decimalMark: decimalMark ?? '.' })
  }

  private firstLine({ record, faults }: ReadRecord, line: number): number | null {
    return faults.length > 0 ? null : this.seen.firstLine(keyOf(this.row.kind, record), line)
  }

  /** Of a part that was judged before this process took the work over. */
  remember(part: Part): void {
    for (const { cells, line } of part.rows) this.firstLine(this.read(cells), line)
  }

  /** @param forGood  false: what is written will be taken back. @returns what to tell of them */
  async judge(changing: Changing, part: Part, forGood: boolean): Promise<Told> {
    const results = new Array<RowResult>(part.rows.length)
    const todo: RowToDo[] = []
    part.rows.forEach(({ cells, line }, at) => {
      const read = this.read(cells)
      const first = this.firstLine(read, line)
      if (read.faults.length > 0) results[at] = { outcome: 'refused', faults: [], readFaults: read.faults }
      else if (first !== null) results[at] = twice(this.row.kind, first)
      else todo.push({ position: at, record: read.record })
    })
    const written = await WRITE[this.row.kind](changing, todo, forGood)
    todo.forEach(({ position }, at) => (results[position] = written[at] as RowResult))
    const faults: Record<number, RowFault[]> = {}
    results.forEach((result, at) => {
      if (result.outcome === 'refused') faults[at] = faultsOf(this.row, part.rows[at] as RowOfCells, result)
    })
    return { results, faults }
  }
}
