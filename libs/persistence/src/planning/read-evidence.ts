import type { EvidenceKind } from '@tapewarden/shared/vocabulary'
import { evidenceKindSchema } from '@tapewarden/shared/vocabulary'
import { type BinaryRows, copyOut, uuidKeyOf, wordCodeOf } from '../copy.js'
import type { RawEvidence } from '@tapewarden/scheduling'
import type { PgScope } from '../pg-scope.js'
import type { LocalMoments } from './local-moments.js'

const KIND_OF_CODE = new Map(evidenceKindSchema.options.map((kind) => [wordCodeOf(kind), kind]))

/** Ids come from our own rows; still nothing but an id is ever put into the text of a query (COPY takes no parameters). */
function idList(ids: readonly string[]): string {
  for (const id of ids) if (!/^[0-9a-f-]{36}$/.test(id)) throw new Error('not an id')
  return `ARRAY[${ids.map((id) => `'${id}'`).join(',')}]::uuid[]`
}

function query(organisationId: string, owner: 'machine_id' | 'station_id', ids: readonly string[]): string {
  return `SELECT ${owner}, id, kind, at_time, from_date - DATE '1970-01-01', to_date - DATE '1970-01-01', amount, created_at, CASE WHEN kind <> 'strips_day' AND detail <> '{}' THEN detail::text END
    FROM evidence WHERE ${owner} = ANY(${idList(ids)}) AND organisation_id = (${idList([organisationId])})[1] AND state = 'counted'`
}

const NOTHING = {}

/** One row; its id is made into text only when someone asks, which is for the few that are set aside. */
class EvidenceRow implements RawEvidence {
  constructor(
    private readonly idBytes: Buffer,
    private readonly idAt: number,
    readonly kind: EvidenceKind,
    readonly machineId: string | null,
    readonly stationId: string | null,
    readonly at: RawEvidence['at'],
    readonly from: number,
    readonly to: number,
    readonly amount: number | null,
    readonly detail: RawEvidence['detail'],
    readonly order: number,
  ) {}

  /** 32 hexadecimal digits without dashes, which PostgreSQL reads as well. */
  get id(): string {
    return this.idBytes.toString('hex', this.idAt, this.idAt + 16)
  }
}

function evidenceOf(rows: BinaryRows, moments: LocalMoments, machineId: string | null, stationId: string | null): RawEvidence {
  const idAt = rows.skipUuid()
  const kind = KIND_OF_CODE.get(rows.wordCode()) ?? 'strips_day'
  const atMs = rows.instantMs()
  const from = rows.int()
  const to = rows.int()
  const amount = rows.float()
  // Of two that came in at the same moment the id decides, so that the order is the same each time.
  const order = rows.instantMs() + rows.fractionAt(idAt)
  const detail = rows.text()
  return new EvidenceRow(
    rows.bytes,
    idAt,
    kind,
    machineId,
    stationId,
    Number.isNaN(atMs) ? null : moments.of(atMs),
    from,
    to,
    Number.isNaN(amount) ? null : amount,
    detail === null ? NOTHING : (JSON.parse(detail) as RawEvidence['detail']),
    order,
  )
}

async function readOwned(
  scope: PgScope,
  moments: LocalMoments,
  owner: 'machine_id' | 'station_id',
  ids: readonly string[],
): Promise<RawEvidence[]> {
  if (ids.length === 0) return []
  const idOf = new Map(ids.map((id) => [uuidKeyOf(id), id]))
  if (idOf.size !== ids.length) throw new Error('two ids end alike: read them in two chunks')
  const found: RawEvidence[] = []
  const rows = await copyOut(scope, query(scope.organisationId, owner, ids))
  while (rows.next()) {
    const id = idOf.get(rows.uuidKey()) ?? null
    found.push(evidenceOf(rows, moments, owner === 'machine_id' ? id : null, owner === 'station_id' ? id : null))
  }
  return found
}

/** The evidence that counts, of these machines and stations, in no order. */
export async function readEvidence(
  scope: PgScope,
  moments: LocalMoments,
  machineIds: readonly string[],
  stationIds: readonly string[],
): Promise<RawEvidence[]> {
  const ofMachines = await readOwned(scope, moments, 'machine_id', machineIds)
  const ofStations = await readOwned(scope, moments, 'station_id', stationIds)
  return ofStations.length === 0 ? ofMachines : [...ofMachines, ...ofStations]
}
