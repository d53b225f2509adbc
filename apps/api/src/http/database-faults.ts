/** What PostgreSQL and its driver say, in the api's words. Names of constraints that people meet get a sentence. */
interface DatabaseAnswer {
  status: 409 | 422 | 503
  code: string
  detail: string
}

const ALREADY_THERE: Readonly<Record<string, string>> = {
  person_email_key: 'Somebody has this mail address already.',
  machine_organisation_id_label_code_key: 'Another machine has this label code.',
  machine_organisation_id_machine_type_id_serial_number_key: 'Another machine of this type has this serial number.',
  machine_type_organisation_id_name_key: 'Another machine type has this name.',
  station_organisation_id_warehouse_id_name_key: 'Another station of this warehouse has this name.',
  component_type_organisation_id_key_key: 'There is a component type with this key already; choose it among the others.',
  part_organisation_id_stock_code_key: 'Another part has this stock code, maybe one out of the books, which can be put back.',
  passkey_credential_id_key: 'This passkey is kept already.',
  occurrence_open_key: 'This task is open on this machine already.',
}
const GONE = new Set([
  'ECONNREFUSED',
  'ECONNRESET',
  'ENOTFOUND',
  'EPIPE',
  'ETIMEDOUT',
  'EAI_AGAIN',
  '57P01',
  '57P02',
  '57P03',
  '53300',
  '53400',
  '3D000',
])
const TRY_AGAIN = new Set(['40001', '40P01', '55P03', '57014'])
const GONE_WORDS =
  /timeout exceeded when trying to connect|Connection terminated|Client has encountered a connection error|Client was closed|Cannot use a pool after|server closed the connection/i

export function databaseFault(error: unknown): DatabaseAnswer | null {
  if (!(error instanceof Error)) return null
  const { code, constraint, message } = error as Error & { code?: string; constraint?: string }
  if ((code !== undefined && (GONE.has(code) || code.startsWith('08'))) || GONE_WORDS.test(message))
    return {
      status: 503,
      code: 'DATABASE_AWAY',
      detail: 'The database does not answer just now. Try again shortly, with the same ids: what was kept already counts once.',
    }
  if (code === undefined) return null
  if (TRY_AGAIN.has(code))
    return { status: 503, code: 'TRY_AGAIN', detail: 'Somebody changed the same thing at the same moment. Try again.' }
  if (code === '23505') return { status: 409, code: 'ALREADY_THERE', detail: ALREADY_THERE[constraint ?? ''] ?? 'This is there already.' }
  if (code === '23503')
    return { status: 422, code: 'UNKNOWN_REFERENCE', detail: 'Something that this names is not there, or is still needed.' }
  if (code === '23514' || code.startsWith('22'))
    return { status: 422, code: 'VALUE_OUT_OF_RANGE', detail: 'A value lies outside what can be kept.' }
  return null
}
