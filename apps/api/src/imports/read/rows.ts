import { csvRows } from './csv.js'
import { FileRefused, type RowOfCells } from './file-refused.js'
import { xlsxRows } from './xlsx.js'

export type FileFormat = 'csv' | 'xlsx'

/** A zip begins with PK; an old binary workbook with its own mark. */
async function* withFirst(first: Uint8Array | undefined, rest: AsyncIterator<Uint8Array>): AsyncGenerator<Uint8Array> {
  if (first) yield first
  for (let next = await rest.next(); !next.done; next = await rest.next()) yield next.value
}

/** What the content is, whatever its name says. */
export async function openRows(bytes: AsyncIterable<Uint8Array>): Promise<{ format: FileFormat; rows: AsyncGenerator<RowOfCells> }> {
  const iterator = bytes[Symbol.asyncIterator]()
  const { value, done } = await iterator.next()
  const first = done ? undefined : (value as Uint8Array)
  if (!first || first.length === 0) throw new FileRefused('EMPTY', 'This file is empty.', 'Fill in a template, or export the list again.')
  const all = withFirst(first, iterator)
  if (first[0] === 0x50 && first[1] === 0x4b) return { format: 'xlsx', rows: xlsxRows(all) }
  if (first[0] === 0xd0 && first[1] === 0xcf)
    throw new FileRefused('OLD_WORKBOOK', 'This is an old binary workbook (.xls).', 'Save it as XLSX or CSV.')
  if (first[0] === 0x25 && first[1] === 0x50) throw new FileRefused('PDF', 'This is a PDF.', 'Save the list as CSV or XLSX.')
  return { format: 'csv', rows: csvRows(all) }
}
