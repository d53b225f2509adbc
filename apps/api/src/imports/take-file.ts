/** Reads a file row by row into the books of imports; nothing else is written by it. */
import { InvalidError, newId } from '@tapewarden/platform'
import type { ImportDetail } from '@tapewarden/shared'
import type { Asking, Work } from '../use/work.js'
import { FIELDS, guessMapping, type ImportKind } from './fields.js'
import { addPart, ROWS_A_PART } from './import-parts.js'
import { detailOf, importRow } from './import-rows.js'
import { type ColumnFacts, noFacts, noteCell } from './read/column-facts.js'
import { FileRefused, type RowOfCells } from './read/file-refused.js'
import { openRows } from './read/rows.js'

const MOST_COLUMNS = 200
const MOST_ROWS = 2_000_000
const LONGEST_CELL = 10_000
/** A part ends here as well, so that rows of many long cells fill no memory. */
const MOST_PART_CHARACTERS = 2_000_000

interface Reader {
  headings: string[]
  facts: ColumnFacts[]
  count: number
}

/** A title above the list stands among its first rows. */
const MOST_ROWS_ABOVE = 20
const filledOf = ({ cells }: RowOfCells): number => cells.filter((cell) => cell.trim() !== '').length

/** Of the first rows the one that names all that this kind must have; else what comes after a title of one cell; else the first. */
function headingAmong(kind: ImportKind, first: readonly RowOfCells[]): number {
  const named = first.findIndex(({ cells }) => {
    const mapping = guessMapping(kind, cells)
    return FIELDS[kind].every(({ key, required }) => !required || mapping[key] !== undefined)
  })
  const below = first[0] && filledOf(first[0]) === 1 ? first.findIndex((row) => filledOf(row) > 1) : 0
  return Math.max(0, named >= 0 ? named : below)
}

/** Without what stands above the heading. */
async function* fromHeading(kind: ImportKind, rows: AsyncIterable<RowOfCells>): AsyncGenerator<RowOfCells> {
  let first: RowOfCells[] | null = []
  for await (const row of rows) {
    if (first === null) yield row
    else if (first.push(row) === MOST_ROWS_ABOVE) {
      yield* first.slice(headingAmong(kind, first))
      first = null
    }
  }
  if (first !== null) yield* first.slice(headingAmong(kind, first))
}

function headingsOf({ cells, line }: RowOfCells): string[] {
  const headings = cells.map((cell) => cell.trim())
  while (headings.at(-1) === '') headings.pop()
  if (headings.length === 0) throw new FileRefused('NO_HEADING', 'The first row has no headings.', 'Put a heading above each column.', line)
  if (headings.length > MOST_COLUMNS)
    throw new FileRefused('TOO_MANY_COLUMNS', `This file has more than ${MOST_COLUMNS} columns.`, 'Leave out those that are not needed.')
  const twice = headings.find((heading, at) => heading !== '' && headings.indexOf(heading) !== at)
  if (twice !== undefined)
    throw new FileRefused('HEADING_TWICE', `Two columns are headed ‘${twice}’.`, 'Give each column a heading of its own.', line)
  return headings
}

/** Stores one part while the next is read. */
class Storing {
  private under: Promise<void> = Promise.resolve()

  constructor(
    private readonly work: Work,
    private readonly asking: Asking,
    private readonly importId: string,
  ) {}

  async add(firstPosition: number, rows: readonly RowOfCells[]): Promise<void> {
    await this.under
    this.under = this.work.change(this.asking, async (changing) => {
      await addPart(changing, this.importId, firstPosition, rows)
      await changing.run(`UPDATE import SET row_count = $3 WHERE organisation_id = $1 AND id = $2`, [
        this.importId,
        firstPosition + rows.length - 1,
      ])
    })
    // Said by the next `add`, or by `done`.
    this.under.catch(() => undefined)
  }

  done(): Promise<void> {
    return this.under
  }
}

function cut({ line, cells }: RowOfCells): RowOfCells {
  // A huge cell is no value of ours; what is kept of it is enough to be refused with its line.
  return {
    line,
    cells: cells.map((cell) => (cell.length > LONGEST_CELL ? cell.slice(0, LONGEST_CELL) : cell).replaceAll('\u0000', '\ufffd')),
  }
}

async function readAll(storing: Storing, kind: ImportKind, rows: AsyncIterable<RowOfCells>): Promise<Reader> {
  const reader: Reader = { headings: [], facts: [], count: 0 }
  let [part, characters]: [RowOfCells[], number] = [[], 0]
  const store = async (): Promise<void> => {
    await storing.add(reader.count - part.length + 1, part)
    ;[part, characters] = [[], 0]
    if (reader.count > MOST_ROWS)
      throw new FileRefused('TOO_MANY_ROWS', `This file has more than ${MOST_ROWS} rows.`, 'Split it into several.')
  }
  for await (const row of fromHeading(kind, rows)) {
    if (reader.headings.length === 0) {
      reader.headings = headingsOf(row)
      reader.facts = reader.headings.map(noFacts)
      continue
    }
    if (row.cells.every((cell) => cell.trim() === '')) continue
    reader.facts.forEach((facts, at) => noteCell(facts, row.cells[at] ?? ''))
    reader.count += 1
    part.push(cut(row))
    for (const cell of row.cells) characters += cell.length
    if (part.length === ROWS_A_PART[kind] || characters > MOST_PART_CHARACTERS) await store()
  }
  if (part.length > 0) await store()
  if (reader.headings.length === 0) throw new FileRefused('EMPTY', 'This file is empty.', 'Fill in a template, or export the list again.')
  if (reader.count === 0) throw new FileRefused('NO_ROWS', 'This file has headings and no rows.', 'Put the rows under the headings.')
  return reader
}

/** @throws FileRefused for a file that cannot be read as a whole; nothing is left of it then */
export async function takeFile(
  work: Work,
  asking: Asking,
  kind: ImportKind,
  fileName: string,
  bytes: AsyncIterable<Uint8Array>,
): Promise<ImportDetail> {
  const id = newId()
  const { rows } = await openRows(bytes)
  // The answer to keep under a key is the file as it was read, not a step on the way.
  const onTheWay = { ...asking, claim: undefined }
  await work.change(onTheWay, (changing) =>
    changing.run(
      `INSERT INTO import (organisation_id, id, kind, state, file_name, person_id, created_at) VALUES ($1, $2, $3, 'reading', $4, $5, $6)`,
      [id, kind, fileName, changing.who.personId, changing.now],
    ),
  )
  const storing = new Storing(work, onTheWay, id)
  try {
    const { headings, facts } = await readAll(storing, kind, rows)
    await storing.done()
    return await work.change(asking, async (changing) => {
      await changing.run(`UPDATE import SET state = 'to_map', headings = $3, column_facts = $4 WHERE organisation_id = $1 AND id = $2`, [
        id,
        JSON.stringify(headings),
        JSON.stringify(facts),
      ])
      return detailOf(changing, await importRow(changing, id))
    })
  } catch (error) {
    await storing.done().catch(() => undefined)
    await work
      .change(onTheWay, (changing) => changing.run(`DELETE FROM import WHERE organisation_id = $1 AND id = $2`, [id]))
      .catch(() => undefined)
    if (error instanceof Error && 'code' in error && error.code === 'ECONNRESET')
      throw new InvalidError('IMPORT_BROKEN_OFF', 'The file did not arrive whole. Send it again.')
    throw error
  }
}
