import { NotFoundError } from '@tapewarden/platform'
import type { PgScope, SqlRow, SqlValue } from '@tapewarden/persistence'

/** Instants leave as RFC 3339 in UTC; everything else as the driver read it. */
function plain<Row extends SqlRow>(row: SqlRow): Row {
  for (const key in row) if (row[key] instanceof Date) row[key] = (row[key] as Date).toISOString()
  return row as Row
}

/** SQL in one transaction of one organisation. $1 is always the organisation: the application's own guard beside PostgreSQL's. */
export class Rows {
  constructor(readonly scope: PgScope) {}

  get organisationId(): string {
    return this.scope.organisationId
  }

  async rows<Row extends SqlRow>(text: string, values: readonly SqlValue[] = []): Promise<Row[]> {
    return (await this.scope.rows(text, [this.organisationId, ...values])).map((row) => plain<Row>(row))
  }

  async maybeOne<Row extends SqlRow>(text: string, values: readonly SqlValue[] = []): Promise<Row | null> {
    return (await this.rows<Row>(text, values))[0] ?? null
  }

  /** @throws NotFoundError: the same for unknown, foreign and out of reach */
  async one<Row extends SqlRow>(what: string, text: string, values: readonly SqlValue[] = []): Promise<Row> {
    const row = await this.maybeOne<Row>(text, values)
    if (!row) throw new NotFoundError(what)
    return row
  }

  run(text: string, values: readonly SqlValue[] = []): Promise<number> {
    return this.scope.run(text, [this.organisationId, ...values])
  }
}
