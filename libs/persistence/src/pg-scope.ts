import pg, { type PoolClient } from 'pg'
import { arrayLiteral } from './array-literal.js'

export type SqlValue = string | number | boolean | null | Date | Buffer | readonly unknown[]
export type SqlRow = Record<string, unknown>

const bound = (values: readonly SqlValue[]): unknown[] =>
  values.map((value) => (Array.isArray(value) ? (arrayLiteral(value) ?? value) : value))

/**
 * Raw SQL inside one transaction of one organisation: for bulk reading and writing, where an ORM's cost
 * a bound value would be most of the time. Counts its statements, so that a test can hold a pass to a number.
 */
export class PgScope {
  statements = 0

  constructor(
    readonly organisationId: string,
    readonly client: PoolClient,
  ) {}

  async rows<Row extends SqlRow = SqlRow>(text: string, values: readonly SqlValue[] = []): Promise<Row[]> {
    this.statements += 1
    return (await this.client.query<Row>(text, bound(values))).rows
  }

  /** Rows as arrays in the order of the columns: no object a row. */
  async arrays<Row extends unknown[] = unknown[]>(text: string, values: readonly SqlValue[] = []): Promise<Row[]> {
    this.statements += 1
    return (await this.client.query<Row>({ text, values: bound(values), rowMode: 'array' })).rows
  }

  /** Each row as it comes and none kept: for more of them than should lie in memory at once. */
  async each<Row extends SqlRow>(text: string, values: readonly SqlValue[], take: (row: Row) => void): Promise<void> {
    this.statements += 1
    const query = new pg.Query<Row>({ text, values: bound(values) })
    let refused: unknown
    query.on('row', (row) => {
      try {
        if (refused === undefined) take(row)
      } catch (error) {
        refused = error
      }
    })
    await new Promise<void>((done, fail) => {
      query.on('end', () => done())
      query.on('error', fail)
      this.client.query(query)
    })
    if (refused !== undefined) throw refused
  }

  /** @returns how many rows were written */
  async run(text: string, values: readonly SqlValue[] = []): Promise<number> {
    this.statements += 1
    return (await this.client.query(text, bound(values))).rowCount ?? 0
  }
}
