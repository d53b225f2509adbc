/** Reads a file of an organisation, twice: once to see that it is whole and unchanged, once to take its rows. */
import { createHash } from 'node:crypto'
import { createReadStream } from 'node:fs'
import { createGunzip } from 'node:zlib'
import { ABOUT, FORMAT, FORMAT_VERSION } from './write.js'

/** The file is not one of ours, is cut, or was changed. */
export class FileRefusedError extends Error {}

export interface FileHead {
  organisationId: string
  name: string
  madeAt: string
}
type About = {
  format?: string
  version?: number
  end?: boolean
  table?: string
  columns?: string[]
  rows?: number
  sha256?: string
} & Partial<FileHead>

/** Longest line that is taken: a photo of a megabyte in hex, and more. */
const LONGEST_LINE = 16_000_000

/** @yields lines without their ends @throws FileRefusedError for what is not packed as ours are */
async function* linesOf(path: string): AsyncGenerator<string> {
  const unpacked = createReadStream(path).pipe(createGunzip())
  unpacked.setEncoding('utf8')
  let rest = ''
  try {
    for await (const piece of unpacked as AsyncIterable<string>) {
      const lines = (rest + piece).split('\n')
      rest = lines.pop() ?? ''
      if (rest.length > LONGEST_LINE) throw new FileRefusedError('This file has a line that is longer than any of ours.')
      yield* lines
    }
  } catch (error) {
    if (error instanceof FileRefusedError || !['Z_DATA_ERROR', 'Z_BUF_ERROR'].includes((error as { code?: string }).code ?? '')) throw error
    throw new FileRefusedError('This file is cut or damaged: it cannot be unpacked.')
  }
  if (rest !== '') yield rest
}

function aboutOf(line: string): About | null {
  if (!line.startsWith(ABOUT)) return null
  try {
    return JSON.parse(line.slice(ABOUT.length)) as About
  } catch {
    throw new FileRefusedError('This file was changed: a line about it cannot be read.')
  }
}

function headOf(about: About | null): FileHead {
  if (about?.format !== FORMAT) throw new FileRefusedError('This is no file of an organisation.')
  if (about.version !== FORMAT_VERSION)
    throw new FileRefusedError(`This file has form ${about.version}; form ${FORMAT_VERSION} is read here.`)
  const { organisationId = '', name = '', madeAt = '' } = about
  if (!/^[0-9a-f-]{36}$/.test(organisationId)) throw new FileRefusedError('This file names no organisation.')
  return { organisationId, name, madeAt }
}

/** @throws FileRefusedError where a single sign differs from what was written */
export async function checkFile(path: string): Promise<FileHead> {
  const hash = createHash('sha256')
  let head: FileHead | null = null
  let rows = 0
  let end: About | null = null
  for await (const line of linesOf(path)) {
    if (end) throw new FileRefusedError('This file was changed: something follows its end.')
    const about = aboutOf(line)
    head ??= headOf(about)
    if (about?.end === true) {
      end = about
      continue
    }
    if (!about) rows += 1
    hash.update(line).update('\n')
  }
  if (!head || !end) throw new FileRefusedError('This file is cut: its end is missing.')
  if (end.sha256 !== hash.digest('hex') || end.rows !== rows)
    throw new FileRefusedError('This file was changed after it was written: its checksum differs.')
  return head
}

export interface Piece {
  table: string
  columns: readonly string[]
  /** Each the JSON of a row, as it stands in the file: never parsed here, so that no number loses a digit. */
  rows: string[]
}

const MOST_ROWS = 1000
const MOST_LETTERS = 4_000_000

/** @yields the rows of a checked file, some of one table at a time, in its order */
export async function* piecesOf(path: string): AsyncGenerator<Piece> {
  let piece: Piece | null = null
  let letters = 0
  for await (const line of linesOf(path)) {
    const about = aboutOf(line)
    if (about) {
      if (piece && piece.rows.length > 0) yield piece
      piece = about.table === undefined ? null : { table: about.table, columns: about.columns ?? [], rows: [] }
      letters = 0
      continue
    }
    if (!piece) throw new FileRefusedError('This file was changed: rows stand outside any table.')
    piece.rows.push(line)
    letters += line.length
    if (piece.rows.length < MOST_ROWS && letters < MOST_LETTERS) continue
    yield piece
    piece = { table: piece.table, columns: piece.columns, rows: [] }
    letters = 0
  }
}
