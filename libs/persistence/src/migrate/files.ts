import { createHash } from 'node:crypto'
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'

export interface MigrationFile {
  /** '0001_core.sql'. */
  name: string
  number: number
  text: string
  sha256: string
  /** False where the first line says '-- no-transaction'. */
  inTransaction: boolean
}

/** Reads the numbered SQL files of a folder, in order. @throws Error where two share a number or a name has none. */
export function readMigrationFiles(folder: string): MigrationFile[] {
  const files = readdirSync(folder)
    .filter((name) => name.endsWith('.sql'))
    .sort()
    .map((name) => readOne(folder, name))
  for (const [index, file] of files.entries())
    if (index > 0 && files[index - 1]?.number === file.number)
      throw new Error(`${files[index - 1]?.name} and ${file.name} have the same number.`)
  return files
}

function readOne(folder: string, name: string): MigrationFile {
  const match = /^(\d{4})_[a-z0-9_]+\.sql$/.exec(name)
  if (!match) throw new Error(`${name}: a migration is named like 0007_what_it_does.sql.`)
  const text = readFileSync(join(folder, name), 'utf8')
  const sha256 = createHash('sha256').update(text).digest('hex')
  return { name, number: Number(match[1]), text, sha256, inTransaction: !/^-- no-transaction\b/.test(text) }
}
