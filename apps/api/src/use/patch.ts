import { ConflictError } from '@tapewarden/platform'
import type { SqlValue } from '@tapewarden/persistence'

/** Column by field. Undefined leaves unchanged, null clears. */
export type Columns = Readonly<Record<string, string>>

/** The SET list for the fields that were sent. @param first  number of the first placeholder */
export function assignments(
  columns: Columns,
  sent: Readonly<Record<string, unknown>>,
  first: number,
): { set: string[]; values: SqlValue[] } {
  const set: string[] = []
  const values: SqlValue[] = []
  for (const [field, column] of Object.entries(columns)) {
    if (sent[field] === undefined) continue
    set.push(`${column} = $${first + values.length}`)
    values.push(sent[field] as SqlValue)
  }
  return { set, values }
}

/** Columns and placeholders of an INSERT for the fields that were sent. */
export function insertion(
  columns: Columns,
  sent: Readonly<Record<string, unknown>>,
  first: number,
): { names: string; places: string; values: SqlValue[] } {
  const fields = Object.keys(columns).filter((field) => sent[field] !== undefined)
  return {
    names: fields.map((field) => `, ${columns[field]}`).join(''),
    places: fields.map((_field, index) => `, $${first + index}`).join(''),
    values: fields.map((field) => sent[field] as SqlValue),
  }
}

/** @throws ConflictError where somebody else was faster */
export function requireVersion(asked: number | undefined, found: number): void {
  if (asked !== undefined && asked !== found)
    throw new ConflictError(
      'CHANGED_MEANWHILE',
      `Somebody changed this meanwhile: it is at version ${found}, you had ${asked}. Read it again.`,
    )
}
