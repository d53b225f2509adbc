import { copyOut } from '../copy.js'
import type { PgScope } from '../pg-scope.js'

export interface RawEvidence {
  id: string
  kind: string
  machineId: string | null
  stationId: string | null
  /** Milliseconds since 1970, for counters; NaN where only the day is known. */
  atMs: number
  fromDay: number
  toDay: number
  amount: number
  detail: Record<string, unknown> | null
}

const KINDS = ['counter_reading', 'counter_replaced', 'strips_day', 'cartons_day', 'rolls', 'monthly_tap'] as const

/** Ids come from our own rows; still nothing but an id is ever put into the text of a query (COPY takes no parameters). */
export function idList(ids: readonly string[]): string {
  for (const id of ids) if (!/^[0-9a-f-]{36}$/.test(id)) throw new Error('not an id')
  return `ARRAY[${ids.map((id) => `'${id}'`).join(',')}]::uuid[]`
}

function query(organisationId: string, owner: 'machine_id' | 'station_id', ids: readonly string[]): string {
  return `SELECT o.at::int4, array_position(ARRAY['${KINDS.join("','")}'], e.kind) - 1, e.id, extract(epoch FROM e.at_time)::float8 * 1000, e.from_date - DATE '1970-01-01', e.to_date - DATE '1970-01-01', e.amount,
      CASE WHEN e.kind IN ('rolls', 'monthly_tap', 'counter_reading', 'counter_replaced') AND e.detail <> '{}' THEN e.detail::text END
    FROM unnest(${idList(ids)}) WITH ORDINALITY o(id, at) JOIN evidence e ON e.organisation_id = '${organisationId}' AND e.${owner} = o.id
    WHERE e.state = 'counted'`
}

async function readOwned(
  scope: PgScope,
  owner: 'machine_id' | 'station_id',
  ids: readonly string[],
  take: (index: number, evidence: RawEvidence) => void,
): Promise<void> {
  if (ids.length === 0) return
  const rows = await copyOut(scope, query(scope.organisationId, owner, ids))
  while (rows.next()) {
    const index = rows.int() - 1
    const kind = KINDS[rows.int()] ?? 'strips_day'
    const id = rows.uuid() ?? ''
    const atMs = rows.float()
    const fromDay = rows.int()
    const toDay = rows.int()
    const amount = rows.float()
    const detail = rows.text()
    const owned = ids[index] ?? null
    take(index, {
      id,
      kind,
      machineId: owner === 'machine_id' ? owned : null,
      stationId: owner === 'station_id' ? owned : null,
      atMs,
      fromDay,
      toDay,
      amount,
      detail: detail === null ? null : (JSON.parse(detail) as Record<string, unknown>),
    })
  }
}

/** The evidence that counts, by machine and by station, in the order of the ids asked. */
export async function readEvidence(
  scope: PgScope,
  machineIds: readonly string[],
  stationIds: readonly string[],
): Promise<{ ofMachines: RawEvidence[][]; ofStations: Map<string, RawEvidence[]> }> {
  const ofMachines = machineIds.map((): RawEvidence[] => [])
  await readOwned(scope, 'machine_id', machineIds, (index, evidence) => ofMachines[index]?.push(evidence))
  const ofStations = new Map(stationIds.map((id): [string, RawEvidence[]] => [id, []]))
  await readOwned(scope, 'station_id', stationIds, (index, evidence) => ofStations.get(stationIds[index] ?? '')?.push(evidence))
  return { ofMachines, ofStations }
}
