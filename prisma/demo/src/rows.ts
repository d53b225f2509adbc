/** Rows by table, kept in the order in which they must be inserted. */
export type Row = Record<string, unknown>

export class Rows {
  readonly organisationId: string
  readonly byTable = new Map<string, Row[]>()

  constructor(organisationId: string) {
    this.organisationId = organisationId
  }

  add(table: string, row: Row): void {
    const rows = this.byTable.get(table) ?? []
    rows.push({ organisation_id: this.organisationId, ...row })
    this.byTable.set(table, rows)
  }

  count(table: string): number {
    return this.byTable.get(table)?.length ?? 0
  }
}
