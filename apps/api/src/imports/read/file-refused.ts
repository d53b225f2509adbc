import { InvalidError } from '@tapewarden/platform'

export interface RowOfCells {
  /** As the user's program counts it: the heading is line 1. */
  line: number
  cells: string[]
}

/** The file as a whole cannot be read: what is wrong, and how to put it right. */
export class FileRefused extends InvalidError {
  constructor(
    code: string,
    problem: string,
    readonly remedy: string,
    line?: number,
  ) {
    super(`IMPORT_${code}`, `${problem}${line === undefined ? '' : ` (line ${line})`} ${remedy}`)
  }
}
