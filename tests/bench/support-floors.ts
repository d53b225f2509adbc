/** The cheapest known way of the same reading and writing, for the same organisation in the same run (speed.md, floors). */
import { Readable } from 'node:stream'
import { pipeline } from 'node:stream/promises'
import type { Database } from '@tapewarden/persistence'
import type { Client } from 'pg'
import { from as copyFrom, to as copyTo } from 'pg-copy-streams'
import type { Fleet } from './support-fleet.js'

/** COPY BINARY of (machine, day, amount) into typed arrays. */
export async function floorRead(database: Database, fleet: Fleet, rows: number): Promise<Float64Array> {
  return database.withOrganisationSql(fleet.organisationId, async (scope) => {
    const query = `SELECT machine_id, from_date - DATE '1970-01-01', amount FROM evidence WHERE organisation_id = '${fleet.organisationId}' AND state = 'counted'`
    const stream = scope.client.query(copyTo(`COPY (${query}) TO STDOUT (FORMAT binary)`))
    const pieces: Buffer[] = []
    for await (const piece of stream) pieces.push(piece as Buffer)
    const bytes = Buffer.concat(pieces)
    const [amounts, days, machines] = [new Float64Array(rows), new Int32Array(rows), new Int32Array(rows)]
    // A row: field count (2), then length (4) and value of a uuid (16), an int4 and a float8.
    for (let at = 19, row = 0; bytes.readInt16BE(at) !== -1; at += 42, row++) {
      machines[row] = bytes.readInt32BE(at + 18)
      days[row] = bytes.readInt32BE(at + 26)
      amounts[row] = bytes.readDoubleBE(at + 34)
    }
    return amounts
  })
}

export const FLOOR_TABLE = 'floor_forecast'

/** A bare table of the same columns and key, without policy, emptied before each writing. */
export async function prepareFloorWrite(owner: Client): Promise<void> {
  await owner.query(`CREATE TABLE IF NOT EXISTS ${FLOOR_TABLE} (LIKE forecast INCLUDING DEFAULTS INCLUDING INDEXES)`)
  await owner.query(`TRUNCATE ${FLOOR_TABLE}`)
}

/** The stored forecasts as lines of COPY, so that the floor writes the same rows. */
export async function forecastLines(owner: Client, fleet: Fleet): Promise<string[]> {
  const stream = owner.query(copyTo(`COPY (SELECT * FROM forecast WHERE organisation_id = '${fleet.organisationId}') TO STDOUT`))
  let text = ''
  for await (const piece of stream) text += String(piece)
  return text.split(/(?<=\n)/)
}

export async function floorWrite(owner: Client, lines: readonly string[]): Promise<void> {
  const pieces: string[] = []
  for (let from = 0; from < lines.length; from += 2000) pieces.push(lines.slice(from, from + 2000).join(''))
  await pipeline(Readable.from(pieces), owner.query(copyFrom(`COPY ${FLOOR_TABLE} FROM STDIN`)))
}
