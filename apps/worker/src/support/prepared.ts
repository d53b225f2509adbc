import type { PgScope, SqlRow, SqlValue } from '@tapewarden/persistence/sql'

/** A statement that is planned once a connection and not once a mail: its planning takes longer than its running. */
export async function preparedRows<Row extends SqlRow>(
  scope: PgScope,
  name: string,
  text: string,
  values: readonly SqlValue[],
): Promise<Row[]> {
  scope.statements += 1
  return (await scope.client.query<Row>({ name, text, values: values as unknown[] })).rows
}
