import type { Changing } from '../use/work.js'
import { refuse } from './outcome.js'

export interface MachineKnown extends Record<string, unknown> {
  id: string
  labelCode: string
  machineTypeId: string
  warehouseId: string | null
  zone: string | null
  commissionedOn: string | null
}

const same = (text: unknown): string =>
  String(text ?? '')
    .trim()
    .toLowerCase()

const byName = <Thing extends { name: string }>(things: readonly Thing[]): Map<string, Thing> =>
  new Map(things.map((thing) => [same(thing.name), thing]))

async function machinesOf(changing: Changing, labels: readonly unknown[]): Promise<Map<string, MachineKnown>> {
  const machines = await changing.rows<MachineKnown>(
    `SELECT m.id, m.label_code AS "labelCode", m.machine_type_id AS "machineTypeId", w.id AS "warehouseId", w.zone, m.commissioned_on AS "commissionedOn" FROM machine m
     LEFT JOIN placement p ON p.organisation_id = m.organisation_id AND p.machine_id = m.id AND p.to_at IS NULL
     LEFT JOIN warehouse w ON w.organisation_id = p.organisation_id AND w.id = p.warehouse_id
     WHERE m.organisation_id = $1 AND ($2::uuid[] IS NULL OR p.warehouse_id = ANY($2)) AND lower(m.label_code) = ANY($3::text[])`,
    [changing.who.warehouseIds, [...new Set(labels.map(same))]],
  )
  return new Map(machines.map((row) => [same(row.labelCode), row]))
}

/** Names of an organisation's things, read once a chunk. */
export class Known {
  private constructor(
    private readonly warehouses: ReadonlyMap<string, { id: string; name: string; zone: string }>,
    private readonly types: ReadonlyMap<string, { id: string; name: string }>,
    private readonly machines: ReadonlyMap<string, MachineKnown>,
  ) {}

  static async of(changing: Changing, labels: readonly unknown[]): Promise<Known> {
    const warehouses = await changing.rows<{ id: string; name: string; zone: string }>(
      `SELECT id, name, zone FROM warehouse WHERE organisation_id = $1 AND ($2::uuid[] IS NULL OR id = ANY($2))`,
      [changing.who.warehouseIds],
    )
    const types = await changing.rows<{ id: string; name: string }>(`SELECT id, name FROM machine_type WHERE organisation_id = $1`)
    return new Known(byName(warehouses), byName(types), await machinesOf(changing, labels))
  }

  /** Machines alone. */
  static async ofMachines(changing: Changing, labels: readonly unknown[]): Promise<Known> {
    return new Known(new Map(), new Map(), await machinesOf(changing, labels))
  }

  warehouse(name: unknown, field = 'warehouse'): { id: string; name: string; zone: string } {
    return (
      this.warehouses.get(same(name)) ??
      refuse(field, 'UNKNOWN_WAREHOUSE', 'is no warehouse in the books.', `Register it, or write one of: ${listed(this.warehouses)}.`)
    )
  }
  warehouseOrNull(name: unknown): { id: string; name: string; zone: string } | null {
    return this.warehouses.get(same(name)) ?? null
  }
  machineType(name: unknown): { id: string; name: string } {
    return (
      this.types.get(same(name)) ??
      refuse(
        'machineType',
        'UNKNOWN_MACHINE_TYPE',
        'is no machine type in the books.',
        `Add the type in Set-up, or write one of: ${listed(this.types)}.`,
      )
    )
  }
  machineOrNull(label: unknown): MachineKnown | null {
    return this.machines.get(same(label)) ?? null
  }
  machine(label: unknown): MachineKnown {
    return (
      this.machineOrNull(label) ??
      refuse('labelCode', 'UNKNOWN_MACHINE', 'is the label of no machine in the books.', 'Import the machines first, or correct the code.')
    )
  }
}

function listed(things: ReadonlyMap<string, { name: string }>): string {
  const names = [...things.values()].map(({ name }) => name)
  if (names.length === 0) return 'none is there yet'
  return names.length > 6 ? `${names.slice(0, 6).join(', ')} …` : names.join(', ')
}
