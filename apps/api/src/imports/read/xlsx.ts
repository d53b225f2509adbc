/** The first sheet of an XLSX. Looked through for its true size before anything is made of it. */
import { Unzip, UnzipInflate } from 'fflate'
import { FileRefused, type RowOfCells } from './file-refused.js'
import { TRUE_NUMBER } from './values.js'

export const MOST_XLSX_BYTES = 20 * 1024 * 1024
/** Unpacked; a sheet of 100 000 rows has about 60 MB. */
export const MOST_UNPACKED_BYTES = 150 * 1024 * 1024
const MOST_ROWS = 100_000

async function whole(bytes: AsyncIterable<Uint8Array>): Promise<Buffer> {
  const parts: Uint8Array[] = []
  let count = 0
  for await (const part of bytes) {
    count += part.length
    if (count > MOST_XLSX_BYTES)
      throw new FileRefused('TOO_LARGE', `This XLSX is larger than ${MOST_XLSX_BYTES / 1_048_576} MB.`, 'Save the sheet as CSV.')
    parts.push(part)
  }
  return Buffer.concat(parts)
}

/** Counts what really comes out, whatever the file says of itself. @returns the names inside */
function unpackedNames(file: Buffer): string[] {
  const names: string[] = []
  let count = 0
  const unzip = new Unzip((entry) => {
    names.push(entry.name)
    entry.ondata = (error, data) => {
      if (error) throw error
      count += data.length
      if (count > MOST_UNPACKED_BYTES || names.length > 2000)
        throw new FileRefused('BOMB', 'This XLSX unpacks to far more than a list needs.', 'Save the sheet as CSV.')
    }
    entry.start()
  })
  unzip.register(UnzipInflate)
  for (let at = 0; at < file.length; at += 65_536) unzip.push(file.subarray(at, at + 65_536), at + 65_536 >= file.length)
  return names
}

function checkInside(file: Buffer): void {
  try {
    const names = unpackedNames(file)
    if (names.some((name) => name.startsWith('xl/worksheets/'))) return
  } catch (error) {
    if (error instanceof FileRefused) throw error
  }
  throw new FileRefused('NO_XLSX', 'This file cannot be read as XLSX.', 'Open it in your spreadsheet program and save it as XLSX or CSV.')
}

/** The day from which workbooks count: a time of day alone is a part of it. */
const FIRST_DAY = '1899-12-30'

/** A workbook keeps a moment as a fraction of days, some milliseconds off. */
function sayMoment(cell: Date): string {
  const text = new Date(Math.round(cell.getTime() / 1000) * 1000).toISOString()
  const [day, time] = [text.slice(0, 10), text.slice(11, 16)]
  if (day === FIRST_DAY) return time
  return time === '00:00' ? day : `${day}T${time}`
}

function textOf(cell: unknown): string {
  if (cell === null || cell === undefined) return ''
  if (cell instanceof Date) return sayMoment(cell)
  if (typeof cell === 'number') return Number.isInteger(cell) ? String(cell) : `${TRUE_NUMBER}${cell}`
  if (typeof cell === 'boolean') return cell ? 'yes' : 'no'
  return typeof cell === 'string' ? cell : JSON.stringify(cell)
}

/** A formula counts as the value that was last computed for it. */
export async function* xlsxRows(bytes: AsyncIterable<Uint8Array>): AsyncGenerator<RowOfCells> {
  const file = await whole(bytes)
  checkInside(file)
  const { default: readSheet } = await import('read-excel-file/node')
  let sheet: unknown[][]
  try {
    const read = (await readSheet(file)) as unknown
    sheet = firstSheet(read)
  } catch {
    throw new FileRefused('NO_XLSX', 'This file cannot be read as XLSX.', 'Open it in your spreadsheet program and save it as XLSX or CSV.')
  }
  if (sheet.length > MOST_ROWS)
    throw new FileRefused('TOO_MANY_ROWS', `This sheet has more than ${MOST_ROWS} rows.`, 'Save it as CSV, which has no such limit.')
  for (const [index, row] of sheet.entries()) {
    const cells = row.map(textOf)
    if (cells.some((cell) => cell !== '')) yield { line: index + 1, cells }
  }
}

function firstSheet(read: unknown): unknown[][] {
  const [first] = read as unknown[]
  if (first && !Array.isArray(first) && typeof first === 'object' && 'data' in first) return (first as { data: unknown[][] }).data
  return read as unknown[][]
}
