/** Rows as RFC 4180 has them; a text that a spreadsheet would take for a formula gets an apostrophe before it. Pure. */
import type { FileAnswer } from '@tapewarden/shared'

export type Cell = string | number | null

function cell(value: Cell): string {
  if (value === null) return ''
  if (typeof value === 'number') return String(value)
  const safe = /^[=+\-@\t\r]/.test(value) ? `'${value}` : value
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe
}
const line = (cells: readonly Cell[]): string => cells.map(cell).join(',')

/** @param rows an empty one is an empty line between two tables */
export function csvFile(fileName: string, rows: readonly (readonly Cell[])[]): FileAnswer {
  return { fileName, mediaType: 'text/csv', encoding: 'utf8', content: `\ufeff${rows.map(line).join('\r\n')}\r\n` }
}
