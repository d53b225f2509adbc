import { Readable } from 'node:stream'
import { pipeline } from 'node:stream/promises'
import { from as copyFrom, to as copyTo } from 'pg-copy-streams'
import type { PgScope } from './pg-scope.js'

const HEADER_BYTES = 19
const NULL = -1
const TWO_TO_32 = 4_294_967_296
const YEAR_2000_MS = 946_684_800_000

function keyOf(last: number, beforeLast: number): number {
  return last * 1_048_576 + (beforeLast & 0xfffff)
}

/** The key that BinaryRows.uuidKey gives for this id. */
export function uuidKeyOf(id: string): number {
  const hex = id.replaceAll('-', '')
  return keyOf(parseInt(hex.slice(24), 16), parseInt(hex.slice(16, 24), 16))
}

export function wordCodeOf(word: string): number {
  return word.length * 256 + word.charCodeAt(0)
}

/**
 * Walks the rows of a COPY … TO STDOUT (FORMAT binary): fields are read in the order of the query's columns,
 * each by the method of its type. No object a row.
 */
export class BinaryRows {
  private at = HEADER_BYTES

  constructor(readonly bytes: Buffer) {}

  /** @returns false after the last row */
  next(): boolean {
    const fields = this.bytes.readInt16BE(this.at)
    this.at += 2
    return fields !== -1
  }

  private length(): number {
    const length = this.bytes.readInt32BE(this.at)
    this.at += 4
    return length
  }

  /** int4; the value for NULL is the caller's. */
  int(whenNull = 0): number {
    if (this.length() === NULL) return whenNull
    this.at += 4
    return this.bytes.readInt32BE(this.at - 4)
  }

  /** float8; NULL reads as NaN. */
  float(): number {
    if (this.length() === NULL) return Number.NaN
    this.at += 8
    return this.bytes.readDoubleBE(this.at - 8)
  }

  text(): string | null {
    const length = this.length()
    if (length === NULL) return null
    this.at += length
    return this.bytes.toString('utf8', this.at - length, this.at)
  }

  /** Passes over a uuid. @returns where its sixteen bytes begin */
  skipUuid(): number {
    this.at += 4 + 16
    return this.at - 16
  }

  /** A number from 0 to 1 made of the last bytes of a uuid. */
  fractionAt(uuidAt: number): number {
    return this.bytes.readUInt16BE(uuidAt + 14) / 65_536
  }

  /** A number made of a uuid's random bytes: equal uuids give equal keys; for looking up in a list known to have no two alike. NULL: -1. */
  uuidKey(): number {
    const length = this.length()
    if (length === NULL) return -1
    this.at += length
    return keyOf(this.bytes.readUInt32BE(this.at - 4), this.bytes.readUInt32BE(this.at - 8))
  }

  /** timestamptz as milliseconds since 1970; NULL reads as NaN. */
  instantMs(): number {
    if (this.length() === NULL) return Number.NaN
    this.at += 8
    return (this.bytes.readInt32BE(this.at - 8) * TWO_TO_32 + this.bytes.readUInt32BE(this.at - 4)) / 1000 + YEAR_2000_MS
  }

  /** A short word known by its length and first letter: 256 · length + letter. */
  wordCode(): number {
    const length = this.length()
    if (length <= 0) return 0
    this.at += length
    return length * 256 + (this.bytes[this.at - length] ?? 0)
  }
}

/** @param query without parameters; row-level security applies to it as to any SELECT */
export async function copyOut(scope: PgScope, query: string): Promise<BinaryRows> {
  scope.statements += 1
  const pieces: Buffer[] = []
  const stream = scope.client.query(copyTo(`COPY (${query}) TO STDOUT (FORMAT binary)`))
  for await (const piece of stream) pieces.push(piece as Buffer)
  return new BinaryRows(Buffer.concat(pieces))
}

export type Cell = string | number | boolean | null

/** One line of COPY's text format; only text can hold what must be escaped. */
export function copyLine(cells: readonly Cell[]): string {
  let line = ''
  for (const [index, cell] of cells.entries()) {
    if (index > 0) line += '\t'
    if (cell === null) line += '\\N'
    else if (typeof cell === 'string') line += /[\\\t\n\r]/.test(cell) ? escape(cell) : cell
    else line += String(cell)
  }
  return `${line}\n`
}

const ESCAPES: Readonly<Record<string, string>> = { '\\': '\\\\', '\t': '\\t', '\n': '\\n', '\r': '\\r' }

function escape(text: string): string {
  return text.replace(/[\\\t\n\r]/g, (letter) => ESCAPES[letter] ?? letter)
}

const PIECE = 2000

/** Fills a temporary table. (COPY into a table under row-level security is refused, so what is written goes on from here by INSERT.) */
export async function copyIn(scope: PgScope, table: string, columns: readonly string[], lines: readonly string[]): Promise<void> {
  scope.statements += 1
  const pieces: string[] = []
  for (let from = 0; from < lines.length; from += PIECE) pieces.push(lines.slice(from, from + PIECE).join(''))
  await pipeline(Readable.from(pieces), scope.client.query(copyFrom(`COPY ${table} (${columns.join(', ')}) FROM STDIN`)))
}
