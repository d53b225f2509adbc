/** Lists as files. No cell can become a formula in a spreadsheet, and what can be imported has the importer's own headings. */
import type { FileAnswer } from '@tapewarden/shared'

export type Cell = string | number | null

const CSV = 'text/csv; charset=utf-8'
const XLSX = 'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet'

/** Text that a spreadsheet would run gets an apostrophe; the importer takes it off again. */
export function harmless(text: string): string {
  return /^[=+\-@\t\r]/.test(text) ? `'${text}` : text
}

function csvCell(cell: Cell): string {
  if (cell === null) return ''
  const text = typeof cell === 'number' ? String(cell) : harmless(cell)
  return /[",;\t\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text
}

/** RFC 4180, with the BOM by which spreadsheets know UTF-8. */
export function csvText(rows: readonly (readonly Cell[])[]): string {
  return `\ufeff${rows.map((row) => `${row.map(csvCell).join(',')}\r\n`).join('')}`
}

export async function fileOf(name: string, format: 'csv' | 'xlsx', rows: readonly (readonly Cell[])[]): Promise<FileAnswer> {
  if (format === 'csv') return { fileName: `${name}.csv`, mediaType: CSV, encoding: 'utf8', content: csvText(rows) }
  const sheet = rows.map((row) =>
    row.map((cell) =>
      cell === null ? null : typeof cell === 'number' ? { value: cell, type: Number } : { value: harmless(cell), type: String },
    ),
  )
  const { default: writeSheet } = await import('write-excel-file/node')
  const bytes = await writeSheet(sheet, {}).toBuffer()
  return { fileName: `${name}.xlsx`, mediaType: XLSX, encoding: 'base64', content: Buffer.from(bytes).toString('base64') }
}
