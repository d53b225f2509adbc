/** CSV (RFC 4180) as a stream of rows: BOM, comma, semicolon or tab, UTF-8 or UTF-16 with a BOM. */
import { parse } from 'csv-parse'
import { Readable, type Transform } from 'node:stream'
import { TextDecoder } from 'node:util'
import { FileRefused, type RowOfCells } from './file-refused.js'

export const MOST_CSV_BYTES = 256 * 1024 * 1024
/** A cell or a row that is longer is no list of machines. */
const MOST_ROW_CHARACTERS = 200_000

function decoderFor(first: Uint8Array): TextDecoder {
  if (first[0] === 0xff && first[1] === 0xfe) return new TextDecoder('utf-16le', { fatal: true })
  if (first[0] === 0xfe && first[1] === 0xff) return new TextDecoder('utf-16be', { fatal: true })
  return new TextDecoder('utf-8', { fatal: true })
}

function notText(): FileRefused {
  return new FileRefused('NOT_UTF8', 'This file is not in UTF-8.', 'Save it as “CSV UTF-8”, or as XLSX.')
}

async function* decoded(bytes: AsyncIterable<Uint8Array>): AsyncGenerator<string> {
  let decoder: TextDecoder | undefined
  let count = 0
  for await (const chunk of bytes) {
    count += chunk.length
    if (count > MOST_CSV_BYTES)
      throw new FileRefused('TOO_LARGE', `This file is larger than ${MOST_CSV_BYTES / 1_048_576} MB.`, 'Split it into several.')
    decoder ??= decoderFor(chunk)
    yield decodedPart(decoder, chunk)
  }
  if (decoder) yield decodedPart(decoder)
}

function decodedPart(decoder: TextDecoder, chunk?: Uint8Array): string {
  try {
    const text = chunk ? decoder.decode(chunk, { stream: true }) : decoder.decode()
    if (text.includes('\u0000')) throw new FileRefused('BINARY', 'This is no text file.', 'Save the list as CSV or XLSX.')
    return text
  } catch (error) {
    throw error instanceof FileRefused ? error : notText()
  }
}

/** The mark that parts most cells of the first line outside quotes; ';' before ',' where both do alike. */
export function delimiterOf(start: string): string {
  const line = (/^(?:[^"\r\n]|"(?:[^"]|"")*(?:"|$))*/.exec(start)?.[0] ?? '').replace(/"(?:[^"]|"")*"?/g, '')
  const counts = [';', '\t', ','].map((mark) => [mark, line.split(mark).length - 1] as const)
  return counts.reduce((best, one) => (one[1] > best[1] ? one : best))[1] === 0
    ? ','
    : counts.reduce((best, one) => (one[1] > best[1] ? one : best))[0]
}

const CSV_FAULTS: Readonly<Record<string, [string, string]>> = {
  CSV_QUOTE_NOT_CLOSED: ['A quotation mark is opened and never closed.', 'Close it, or double quotation marks inside a cell.'],
  CSV_INVALID_CLOSING_QUOTE: ['Something stands after a closing quotation mark.', 'Double quotation marks inside a cell.'],
  INVALID_OPENING_QUOTE: [
    'A quotation mark stands in the middle of a cell.',
    'Put the whole cell in quotation marks and double those inside.',
  ],
  CSV_MAX_RECORD_SIZE: ['A row has more than 200 000 characters.', 'Look for a quotation mark that is never closed.'],
}

function faultOf(error: unknown): unknown {
  if (error instanceof FileRefused || !(error instanceof Error)) return error
  const { code, lines } = error as { code?: string; lines?: number }
  const known = CSV_FAULTS[code ?? '']
  if (!known) return error
  return new FileRefused(code ?? 'CSV', known[0], known[1], lines)
}

const BREAK = /\r\n|\r|\n/g
const breaksIn = (cells: readonly string[]): number =>
  cells.reduce((count, cell) => (cell.includes('\n') || cell.includes('\r') ? count + (cell.match(BREAK)?.length ?? 0) : count), 0)

/** @throws FileRefused where the whole cannot be read; rows before it have been given */
export async function* csvRows(bytes: AsyncIterable<Uint8Array>): AsyncGenerator<RowOfCells> {
  const texts = decoded(bytes)
  const first: string[] = []
  let length = 0
  for (let part = await texts.next(); !part.done; part = await texts.next()) {
    first.push(part.value)
    length += part.value.length
    if (length > 4096) break
  }
  const start = first.join('').replace(/^\ufeff/, '')
  async function* rest(): AsyncGenerator<string> {
    yield start
    yield* texts
  }
  const source = Readable.from(rest())
  const parser = parse({
    delimiter: delimiterOf(start),
    relax_column_count: true,
    max_record_size: MOST_ROW_CHARACTERS,
  })
  const piped = source.on('error', (error) => parser.destroy(error)).pipe(parser as unknown as Transform)
  try {
    // Lines are counted here: the parser would make an object of all it knows for each row, which costs as much as the rest.
    let line = 0
    for await (const cells of piped as AsyncIterable<string[]>) {
      line += 1 + breaksIn(cells)
      if (cells.length > 1 || cells[0] !== '') yield { line, cells }
    }
  } catch (error) {
    throw faultOf(error)
  } finally {
    source.destroy()
  }
}
