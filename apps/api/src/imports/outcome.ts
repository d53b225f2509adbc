import type { RowFault } from '@tapewarden/shared'
import { AppError } from '@tapewarden/platform'
import type { Changing } from '../use/work.js'
import type { ImportRecord } from './records.js'

export interface RowToDo {
  position: number
  record: ImportRecord
}
/** A fault that names its field; the heading of that field's column is found later. */
export interface FieldFault {
  field: string
  code: string
  problem: string
  remedy: string
}
export type RowResult =
  | { outcome: 'new' | 'changed' | 'unchanged'; effect: Readonly<Record<string, unknown>> | null }
  | { outcome: 'refused'; faults: FieldFault[]; readFaults?: readonly RowFault[] }

export const UNCHANGED: RowResult = { outcome: 'unchanged', effect: null }

/** Thrown by what handles a row. */
export class RowRefused extends Error {
  constructor(readonly fault: FieldFault) {
    super(fault.problem)
  }
}
export function refuse(field: string, code: string, problem: string, remedy: string): never {
  throw new RowRefused({ field, code, problem, remedy })
}

const REMEDIES: Readonly<Record<string, string>> = {
  IN_THE_FUTURE: 'Correct the date.',
  UNKNOWN_STATION: 'Import the stations first, or correct the name.',
  SHARES_OVER_ONE: 'Give the machines of one station shares that add up to one.',
}

const POINTED: Readonly<Record<string, string>> = { stationId: 'station', warehouseId: 'warehouse', machineTypeId: 'machineType' }

/** What went wrong with one row, or the error again where it is none of the row's. */
function faultOf(error: unknown, keyField: string): FieldFault {
  if (error instanceof RowRefused) return error.fault
  if (error instanceof AppError && !error.retryable) {
    const pointed = error.pointer?.split('/').at(-1) ?? keyField
    return {
      field: POINTED[pointed] ?? pointed,
      code: error.code,
      problem: error.message,
      remedy: REMEDIES[error.code] ?? 'Correct it and import the row again.',
    }
  }
  const { code, constraint } = error as { code?: string; constraint?: string }
  if (code === '23505')
    return {
      field: constraint?.includes('serial_number') ? 'serialNumber' : keyField,
      code: 'ALREADY_THERE',
      problem: 'belongs to another one already, in the books or further up in this file.',
      remedy: 'Correct it, or leave the row out.',
    }
  throw error
}

/** Row by row, each in a savepoint of its own: a bad one stops no other. */
export async function eachRow(
  changing: Changing,
  rows: readonly RowToDo[],
  keyField: string,
  handle: (record: ImportRecord) => Promise<RowResult>,
): Promise<RowResult[]> {
  const results: RowResult[] = []
  for (const { record } of rows) {
    const notes = changing.changes.length
    await changing.scope.run('SAVEPOINT import_row')
    try {
      results.push(await handle(record))
      await changing.scope.run('RELEASE SAVEPOINT import_row')
    } catch (error) {
      await changing.scope.run('ROLLBACK TO SAVEPOINT import_row')
      changing.changes.length = notes
      results.push({ outcome: 'refused', faults: [faultOf(error, keyField)] })
    }
  }
  return results
}

/** Of the fields that a row gives, those that differ from what is in the books. An empty cell leaves things as they are. */
export function differences(given: Readonly<Record<string, unknown>>, there: object): Record<string, unknown> {
  const now = there as Readonly<Record<string, unknown>>
  return Object.fromEntries(
    Object.entries(given).filter(([field, value]) => value !== null && value !== undefined && value !== (now[field] ?? null)),
  )
}

export function before(there: object, changed: Readonly<Record<string, unknown>>): Record<string, unknown> {
  const then = there as Readonly<Record<string, unknown>>
  return Object.fromEntries(Object.keys(changed).map((field) => [field, then[field] ?? null]))
}
