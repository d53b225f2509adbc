import type { LedgerInput, MachineForLedger, Moment } from '@tapewarden/scheduling'
import type { MachineStatus } from '@tapewarden/shared'
import type { PgScope } from '../pg-scope.js'
import { dayNumber, dayNumberOrNull, dayText } from './days.js'
import type { LocalMoments } from './local-moments.js'
import { readEvidence } from './read-evidence.js'
import * as history from './read-history.js'
import {
  type MachineRow,
  type PlacementRow,
  readMachines,
  readPlacements,
  readStatusPeriods,
  readStripsPerCarton,
} from './read-machines.js'
import { type ElsewhereRows, readElsewhere } from './read-elsewhere.js'
import type { WarehouseFacts } from './read-warehouse.js'
import { typeFactsOf } from './type-facts.js'

/** Situations older than this open nothing any more. */
const SITUATION_DAYS = 400

export interface ChunkRows {
  machines: readonly MachineRow[]
  done: readonly history.DoneRow[]
  open: readonly history.OpenRow[]
  sequences: Awaited<ReturnType<typeof history.readSequences>>
  skipped: Awaited<ReturnType<typeof history.readSkipped>>
  components: readonly history.ComponentRow[]
  lengths: Awaited<ReturnType<typeof history.readLengths>>
  earlierLengths: readonly history.EarlierLengthRow[]
  findings: readonly history.FindingRow[]
  situations: Awaited<ReturnType<typeof history.readSituations>>
  elsewhere: ElsewhereRows
  ledgerInput: LedgerInput
}

type StatusRow = Awaited<ReturnType<typeof readStatusPeriods>>[number]

function groupBy<Row>(rows: readonly Row[], keyOf: (row: Row) => string): Map<string, Row[]> {
  const groups = new Map<string, Row[]>()
  for (const row of rows) {
    const key = keyOf(row)
    const group = groups.get(key)
    if (group) group.push(row)
    else groups.set(key, [row])
  }
  return groups
}

function placementsOf(rows: readonly PlacementRow[], moments: LocalMoments): MachineForLedger['placements'] {
  return rows.map((row) => ({
    stationId: row.station_id,
    warehouseId: row.warehouse_id,
    from: moments.of(row.from_at.getTime()),
    to: row.to_at && moments.of(row.to_at.getTime()),
    share: row.share_of_station,
  }))
}

/** Of a machine whose first day nobody knows. */
const LONG_AGO = dayNumber('1950-01-01')

/** A machine that came into the books in service has worked since it was commissioned: what is told of then counts. */
function serviceBegan(row: StatusRow, moments: LocalMoments): Moment {
  const registered = moments.of(row.from_at.getTime())
  const commissioned = dayNumberOrNull(row.commissioned_on) ?? LONG_AGO
  return row.status === 'in_service' && commissioned <= registered.day ? { day: commissioned, minute: 0 } : registered
}

function statusesOf(rows: readonly StatusRow[], moments: LocalMoments): MachineForLedger['statuses'] {
  return rows.map((row, at) => ({
    status: row.status as MachineStatus,
    from: at === 0 ? serviceBegan(row, moments) : moments.of(row.from_at.getTime()),
    to: row.to_at && moments.of(row.to_at.getTime()),
  }))
}

/** Where machines stood and what was counted there, as the ledger wants it. */
async function readForLedger(
  scope: PgScope,
  facts: WarehouseFacts,
  moments: LocalMoments,
  machines: readonly MachineRow[],
  today: number,
): Promise<LedgerInput> {
  const ids = machines.map((machine) => machine.id)
  const placements = groupBy(await readPlacements(scope, ids), (row) => row.machine_id)
  const everyone = [...placements.keys()]
  const statuses = groupBy(await readStatusPeriods(scope, everyone), (row) => row.machine_id)
  const stationIds = [...new Set(ids.flatMap((id) => (placements.get(id) ?? []).map((row) => row.station_id)).filter((id) => id !== null))]
  const stripsPerCarton = await readStripsPerCarton(scope, stationIds)
  const evidence = await readEvidence(scope, moments, ids, stationIds)
  const where = (id: string) => ({
    machineId: id,
    placements: placementsOf(placements.get(id) ?? [], moments),
    statuses: statusesOf(statuses.get(id) ?? [], moments),
  })
  const own = new Set(ids)
  return {
    today,
    warehouseId: facts.warehouseId,
    calendar: facts.calendar,
    machines: machines.map((machine) => forLedger(machine, facts, where(machine.id))),
    neighbours: everyone.filter((id) => !own.has(id)).map(where),
    stripsPerCarton: Object.fromEntries(stripsPerCarton),
    evidence,
  }
}

function forLedger(
  machine: MachineRow,
  facts: WarehouseFacts,
  where: Pick<MachineForLedger, 'machineId' | 'placements' | 'statuses'>,
): MachineForLedger {
  const row = facts.types.get(machine.machine_type_id)
  if (!row) throw new Error(`machine ${machine.id} has no type`)
  const type = typeFactsOf(row)
  return {
    ...where,
    meanStripMm: type.meanStripMm,
    feedSpeedMPerMin: type.feedSpeedMPerMin,
    startUpSecondsPerStrip: type.startUpSecondsPerStrip,
    mostStripsPerMinute: type.mostStripsPerMinute,
    usualStripsPerDay: type.usualStripsPerDay,
    counterKind: row.counter_kind as MachineForLedger['counterKind'],
    counterModulus: row.counter_modulus,
  }
}

/** Everything of a chunk of machines, in about fifteen queries however many machines there are. */
export async function readChunk(
  scope: PgScope,
  facts: WarehouseFacts,
  moments: LocalMoments,
  machineIds: readonly string[],
  today: number,
): Promise<ChunkRows> {
  const machines = await readMachines(scope, facts.warehouseId, machineIds)
  const ids = machines.map((machine) => machine.id)
  const components = await history.readComponents(scope, ids)
  const componentIds = components.map((component) => component.component_id)
  const lengths = await history.readLengths(scope, componentIds)
  return {
    machines,
    components,
    lengths,
    earlierLengths: await history.readEarlierLengths(scope, ids),
    done: await history.readLastDone(scope, ids),
    open: await history.readOpen(scope, ids),
    sequences: await history.readSequences(scope, ids),
    skipped: await history.readSkipped(scope, ids),
    findings: await history.readFindings(scope, ids),
    situations: await history.readSituations(scope, ids, dayText(today - SITUATION_DAYS)),
    elsewhere: await readElsewhere(scope, components, lengths),
    ledgerInput: await readForLedger(scope, facts, moments, machines, today),
  }
}
