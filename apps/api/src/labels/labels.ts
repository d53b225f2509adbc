import { randomInt } from 'node:crypto'
import { NotFoundError } from '@tapewarden/platform'
import type { FileAnswer, RouteBody, Routes } from '@tapewarden/shared'
import type { Changing } from '../use/work.js'
import { LABEL_LAYOUTS } from './label-layouts.js'
import { type Label, labelsPdf } from './label-pdf.js'

/** Crockford's base 32: no letter that is read as another. 60 bits, so that no label can be guessed from another. */
const LETTERS = '0123456789ABCDEFGHJKMNPQRSTVWXYZ'
const TOKEN_LETTERS = 12

export function newToken(): string {
  return Array.from({ length: TOKEN_LETTERS }, () => LETTERS[randomInt(LETTERS.length)]).join('')
}

/** Capitals only, which a code holds in fewer modules; scheme and host do not tell capitals from others. */
export function addressOf(publicUrl: string, token: string): string {
  return `${publicUrl.replace(/\/$/, '')}/L/${token}`.toUpperCase()
}

interface MachineRow extends Record<string, unknown> {
  id: string
  labelCode: string
  typeName: string
  stationName: string | null
  line: string | null
  token: string | null
}

async function machinesOf(changing: Changing, machineIds: readonly string[]): Promise<MachineRow[]> {
  const rows = await changing.rows<MachineRow>(
    `SELECT m.id, m.label_code AS "labelCode", t.name AS "typeName", s.name AS "stationName", s.line, l.token
     FROM machine m JOIN machine_type t ON t.organisation_id = m.organisation_id AND t.id = m.machine_type_id
     LEFT JOIN placement p ON p.organisation_id = m.organisation_id AND p.machine_id = m.id AND p.to_at IS NULL
     LEFT JOIN station s ON s.organisation_id = p.organisation_id AND s.id = p.station_id
     LEFT JOIN machine_label l ON l.organisation_id = m.organisation_id AND l.machine_id = m.id AND l.cancelled_at IS NULL
     WHERE m.organisation_id = $1 AND ($2::uuid[] IS NULL OR p.warehouse_id = ANY($2)) AND m.id = ANY($3::uuid[])`,
    [changing.who.warehouseIds, machineIds],
  )
  const found = new Map(rows.map((row) => [row.id, row]))
  return machineIds.map((id) => found.get(id) ?? missing())
}
function missing(): never {
  throw new NotFoundError('machine')
}

/** Every machine has one label that counts. fresh: the old ones are gone, and are told nothing any more. */
async function giveTokens(changing: Changing, machines: readonly MachineRow[], fresh: boolean): Promise<Map<string, string>> {
  if (fresh)
    await changing.run(
      `UPDATE machine_label SET cancelled_at = $3 WHERE organisation_id = $1 AND machine_id = ANY($2::uuid[]) AND cancelled_at IS NULL`,
      [machines.map(({ id }) => id), changing.now],
    )
  const needed = machines.filter(({ token }) => fresh || token === null).map(({ id }) => ({ id, token: newToken() }))
  await changing.run(
    `INSERT INTO machine_label (organisation_id, token, machine_id, made_at)
     SELECT $1, r.token, r.id, $3 FROM jsonb_to_recordset($2::jsonb) AS r(id uuid, token text)`,
    [JSON.stringify(needed), changing.now],
  )
  const tokens = new Map(needed.map(({ id, token }) => [id, token]))
  for (const { id } of needed) changing.note({ action: fresh ? 'new label' : 'label', subjectKind: 'machine', subjectId: id })
  return new Map(machines.map(({ id, token }) => [id, tokens.get(id) ?? token ?? '']))
}

export async function printLabels(changing: Changing, publicUrl: string, body: RouteBody<Routes['printLabels']>): Promise<FileAnswer> {
  const machines = await machinesOf(changing, [...new Set(body.machineIds)])
  const tokens = await giveTokens(changing, machines, body.fresh)
  const labels = machines.map(({ id, labelCode, typeName, stationName, line }): Label => ({
    address: addressOf(publicUrl, tokens.get(id) ?? ''),
    labelCode,
    lines: [typeName, stationName === null ? '' : `${line ?? ''} ${stationName}`.trim(), 'Something wrong? Scan.'].filter(
      (text) => text !== '',
    ),
  }))
  const bytes = await labelsPdf(LABEL_LAYOUTS[body.layout], labels, body.skip)
  return { fileName: 'labels.pdf', mediaType: 'application/pdf', encoding: 'base64', content: Buffer.from(bytes).toString('base64') }
}
