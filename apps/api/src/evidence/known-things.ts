import type { ParsedEvidenceItem } from '@tapewarden/shared'
import { localDateOf } from '../use/local-day.js'
import type { Changing } from '../use/work.js'

interface Placed {
  warehouseId: string
  zone: string
  fromMs: number
  /** Its first day on the place's own calendar. */
  fromDay: string
}
export interface KnownMachine {
  id: string
  labelCode: string
  counterKind: 'none' | 'strips' | 'metres'
  counterModulus: number | null
  mostStripsPerMinute: number
  meanStripMm: number
  shortestStripMm: number
  /** Oldest first. */
  placements: Placed[]
  /** Counter readings that count, oldest first. */
  readings: { atMs: number; value: number }[]
}
export interface KnownStation {
  id: string
  warehouseId: string
  zone: string
}

/** Assumption where a type states none: nobody cuts faster by hand or key. */
const MOST_STRIPS_PER_MINUTE = 60

export function placementAt(machine: KnownMachine, atMs: number): Placed | null {
  const then = machine.placements.findLast((placement) => placement.fromMs <= atMs)
  return then ?? machine.placements[0] ?? null
}

/** Where the machine stood on a local day: the last placement that had begun by that day's end there. */
export function placementOn(machine: KnownMachine, day: string): Placed | null {
  const then = machine.placements.findLast((placement) => placement.fromDay <= day)
  return then ?? machine.placements[0] ?? null
}

type MachineRow = Record<string, unknown> &
  Omit<KnownMachine, 'placements' | 'readings' | 'mostStripsPerMinute' | 'meanStripMm'> & {
    most: number | null
    mean: number | null
    longest: number
  }

const inReach = `($2::uuid[] IS NULL OR EXISTS (SELECT 1 FROM placement p WHERE p.organisation_id = m.organisation_id AND p.machine_id = m.id AND p.to_at IS NULL AND p.warehouse_id = ANY($2)))`

/** Everything that a batch of evidence needs to be judged, in four queries whatever its length. */
export class KnownThings {
  private readonly byId = new Map<string, KnownMachine>()
  private readonly byLabel = new Map<string, KnownMachine>()
  private readonly stations = new Map<string, KnownStation>()

  static async of(changing: Changing, items: readonly ParsedEvidenceItem[]): Promise<KnownThings> {
    const known = new KnownThings()
    const machineIds = items.flatMap((item) => ('machineId' in item && item.machineId ? [item.machineId] : []))
    const labels = items.flatMap((item) => ('labelCode' in item && item.labelCode ? [item.labelCode] : []))
    const stationIds = items.flatMap((item) => ('stationId' in item && item.stationId ? [item.stationId] : []))
    await known.readMachines(changing, machineIds, labels)
    await known.readPlacements(changing)
    await known.readReadings(changing, items)
    await known.readStations(changing, stationIds)
    return known
  }

  machineOf(item: ParsedEvidenceItem): KnownMachine | null {
    if ('machineId' in item && item.machineId) return this.byId.get(item.machineId) ?? null
    if ('labelCode' in item && item.labelCode) return this.byLabel.get(item.labelCode) ?? null
    return null
  }

  stationOf(item: ParsedEvidenceItem): KnownStation | null {
    return 'stationId' in item && item.stationId ? (this.stations.get(item.stationId) ?? null) : null
  }

  private async readMachines(changing: Changing, ids: readonly string[], labels: readonly string[]): Promise<void> {
    if (ids.length + labels.length === 0) return
    const rows = await changing.rows<MachineRow>(
      `SELECT m.id, m.label_code AS "labelCode", t.counter_kind AS "counterKind", t.counter_modulus AS "counterModulus", t.most_strips_per_minute AS most,
         t.mean_strip_mm AS mean, t.shortest_strip_mm AS "shortestStripMm", t.longest_strip_mm AS longest
       FROM machine m JOIN machine_type t ON t.organisation_id = m.organisation_id AND t.id = m.machine_type_id
       WHERE m.organisation_id = $1 AND ${inReach} AND (m.id = ANY($3::uuid[]) OR m.label_code = ANY($4::text[]))`,
      [changing.who.warehouseIds, ids, labels],
    )
    for (const { most, mean, longest, ...row } of rows) {
      const machine = {
        ...row,
        mostStripsPerMinute: most ?? MOST_STRIPS_PER_MINUTE,
        meanStripMm: mean ?? (row.shortestStripMm + longest) / 2,
        placements: [],
        readings: [],
      }
      this.byId.set(machine.id, machine)
      this.byLabel.set(machine.labelCode, machine)
    }
  }

  private async readPlacements(changing: Changing): Promise<void> {
    if (this.byId.size === 0) return
    const rows = await changing.rows<{ machineId: string; warehouseId: string; zone: string; fromMs: number }>(
      `SELECT p.machine_id AS "machineId", p.warehouse_id AS "warehouseId", w.zone, EXTRACT(epoch FROM p.from_at)::float8 * 1000 AS "fromMs"
       FROM placement p JOIN warehouse w ON w.organisation_id = p.organisation_id AND w.id = p.warehouse_id
       WHERE p.organisation_id = $1 AND p.machine_id = ANY($2::uuid[]) ORDER BY p.from_at`,
      [[...this.byId.keys()]],
    )
    for (const { machineId, warehouseId, zone, fromMs } of rows)
      this.byId.get(machineId)?.placements.push({ warehouseId, zone, fromMs, fromDay: localDateOf(new Date(fromMs), zone) })
  }

  private async readReadings(changing: Changing, items: readonly ParsedEvidenceItem[]): Promise<void> {
    const read = new Set(items.flatMap((item) => (item.kind === 'counter_reading' ? [this.machineOf(item)] : [])))
    const counting = [...read].flatMap((machine) => (machine && machine.counterKind !== 'none' ? [machine.id] : []))
    if (counting.length === 0) return
    // The newest 50 a machine are enough to judge what comes in now; the ledger looks at all of them.
    const rows = await changing.rows<{ machineId: string; atMs: number; value: number }>(
      `SELECT x.id AS "machineId", e.at AS "atMs", e.amount AS value FROM unnest($2::uuid[]) AS x(id),
         LATERAL (SELECT EXTRACT(epoch FROM at_time)::float8 * 1000 AS at, amount FROM evidence
           WHERE organisation_id = $1 AND machine_id = x.id AND state = 'counted' AND kind IN ('counter_reading', 'counter_replaced') AND at_time IS NOT NULL
           ORDER BY from_date DESC, at_time DESC LIMIT 50) e ORDER BY e.at`,
      [counting],
    )
    for (const row of rows) this.byId.get(row.machineId)?.readings.push({ atMs: row.atMs, value: row.value })
  }

  private async readStations(changing: Changing, ids: readonly string[]): Promise<void> {
    if (ids.length === 0) return
    const rows = await changing.rows<KnownStation & Record<string, unknown>>(
      `SELECT s.id, s.warehouse_id AS "warehouseId", w.zone FROM station s JOIN warehouse w ON w.organisation_id = s.organisation_id AND w.id = s.warehouse_id
       WHERE s.organisation_id = $1 AND ($2::uuid[] IS NULL OR s.warehouse_id = ANY($2)) AND s.id = ANY($3::uuid[])`,
      [changing.who.warehouseIds, ids],
    )
    for (const row of rows) this.stations.set(row.id, row)
  }
}
