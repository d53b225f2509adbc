/** Machines added to the small organisation's warehouse, with a component, a week of strips a day, and nothing done yet. */
import type { NewRow } from '@tapewarden/persistence'
import { newId } from '@tapewarden/platform'
import type { SmallOrganisation } from './organisation.js'

const AT = '2026-03-02T08:00:00Z'

export interface FleetRows {
  machineIds: string[]
  rows: Record<string, NewRow[]>
}

/** @param days local days of evidence, 100 strips each, from 2026-03-02 on */
export function fleetRows(of: SmallOrganisation, size: number, days = 5): FleetRows {
  const brushType = of.rows.component_type?.[0]?.id
  const rows: Record<string, NewRow[]> = {
    station: [],
    machine: [],
    machine_status_period: [],
    placement: [],
    component: [],
    component_placement: [],
    evidence: [],
  }
  const machineIds = Array.from({ length: size }, newId)
  for (const [index, id] of machineIds.entries()) {
    const [station, component] = [newId(), newId()]
    rows.station?.push({ id: station, warehouse_id: of.ids.warehouse, name: `F${index}`, line: `L${index % 7}`, walking_order: index })
    rows.machine?.push({
      id,
      machine_type_id: of.ids.machineType,
      serial_number: `F-${index}`,
      label_code: `F-${index}`,
      commissioned_on: '2026-03-01',
      registered_on: '2026-03-01',
      status_since: '2026-03-01',
      created_at: AT,
    })
    rows.machine_status_period?.push({ id: newId(), machine_id: id, status: 'in_service', from_at: '2026-03-01T00:00:00Z' })
    rows.placement?.push({
      id: newId(),
      machine_id: id,
      warehouse_id: of.ids.warehouse,
      station_id: station,
      from_at: '2026-03-01T00:00:00Z',
    })
    rows.component?.push({ id: component, component_type_id: brushType, new_on: '2026-03-01' })
    rows.component_placement?.push({ id: newId(), component_id: component, machine_id: id, from_date: '2026-03-01' })
    for (let day = 0; day < days; day++) {
      const on = new Date(Date.parse('2026-03-02T00:00:00Z') + day * 86_400_000).toISOString().slice(0, 10)
      rows.evidence?.push({
        id: newId(),
        kind: 'strips_day',
        warehouse_id: of.ids.warehouse,
        machine_id: id,
        from_date: on,
        to_date: on,
        amount: 100,
        source: 'test',
        created_at: AT,
      })
    }
  }
  return { machineIds, rows }
}
