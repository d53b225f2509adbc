import { InvalidError } from '@tapewarden/platform'

/** Where the last page ended: the sort values of its last row. Opaque to clients. */
export function cursorOf(values: readonly (string | number | null)[]): string {
  return Buffer.from(JSON.stringify(values)).toString('base64url')
}

type Kind = 'text' | 'number' | 'id' | 'instant' | 'day'

/** @throws InvalidError for a text that is no cursor of this list */
export function readCursor(cursor: string | undefined, kinds: readonly Kind[]): (string | number | null)[] | null {
  if (cursor === undefined) return null
  let values: unknown
  try {
    values = JSON.parse(Buffer.from(cursor, 'base64url').toString('utf8'))
  } catch {
    values = null
  }
  if (Array.isArray(values) && values.length === kinds.length && kinds.every((kind, index) => fits(kind, values[index]))) return values
  throw new InvalidError('INVALID_CURSOR', 'The cursor is none that this list gave.', 'query/cursor')
}

const DAY = /^\d{4}-\d{2}-\d{2}$/
const ID = /^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$/
function fits(kind: Kind, value: unknown): boolean {
  if (kind === 'number') return typeof value === 'number' && Number.isFinite(value) && Math.abs(value) < 2 ** 31
  if (typeof value !== 'string' || value.includes('\u0000') || value.length > 400) return false
  if (kind === 'instant') return !Number.isNaN(Date.parse(value))
  if (kind === 'day') return DAY.test(value) && !Number.isNaN(Date.parse(value)) && new Date(value).toISOString().startsWith(value)
  return kind === 'text' || ID.test(value)
}

/** One row more than asked for was read, to see whether there is a next page. */
export function pageOf<Row, Item>(
  rows: readonly Row[],
  limit: number,
  last: (row: Row) => readonly (string | number | null)[],
  item: (row: Row) => Item,
) {
  const shown = rows.slice(0, limit)
  const end = shown.at(-1)
  return { items: shown.map(item), nextCursor: rows.length > limit && end ? cursorOf(last(end)) : null }
}
