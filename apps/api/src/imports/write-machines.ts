/** Rows of machines and of what is fitted in them. */
import type { RouteBody, Routes } from '@tapewarden/shared'
import { newId } from '@tapewarden/platform'
import { machineNow } from '../machines/machine-now.js'
import { putFields } from '../machines/move.js'
import { createMachine } from '../machines/register.js'
import { localDateOf } from '../use/local-day.js'
import type { Changing } from '../use/work.js'
import { Known, type MachineKnown } from './known.js'
import { before, differences, eachRow, refuse, type RowResult, type RowToDo, UNCHANGED } from './outcome.js'
import type { ImportRecord } from './records.js'

async function stationOf(changing: Changing, warehouseId: string, name: unknown): Promise<string | null> {
  if (name === null || name === undefined) return null
  const station = await changing.maybeOne<{ id: string }>(
    `SELECT id FROM station WHERE organisation_id = $1 AND warehouse_id = $2 AND lower(name) = lower($3)`,
    [warehouseId, String(name)],
  )
  return (
    station?.id ??
    refuse('station', 'UNKNOWN_STATION', 'is no station of this warehouse.', 'Import the stations first, or correct the name.')
  )
}

async function addMachine(changing: Changing, known: Known, record: ImportRecord): Promise<RowResult> {
  const { warehouse, station, machineType, ...fields } = record
  const place = known.warehouse(warehouse)
  const type = known.machineType(machineType)
  const stationId = await stationOf(changing, place.id, station)
  const id = newId()
  const given = Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== null))
  await createMachine(changing, {
    status: 'in_service',
    serialNumber: String(record.labelCode),
    labelCode: String(record.labelCode),
    ...(given as Partial<RouteBody<Routes['createMachine']>>),
    id,
    machineTypeId: type.id,
    placement: { warehouseId: place.id, stationId, shareOfStation: 1 },
  })
  return { outcome: 'new', effect: { machineId: id } }
}

export async function writeMachines(changing: Changing, rows: readonly RowToDo[]): Promise<RowResult[]> {
  const known = await Known.of(
    changing,
    rows.map(({ record }) => record.labelCode),
  )
  return eachRow(changing, rows, 'labelCode', async (record) => {
    const there = known.machineOrNull(record.labelCode)
    if (!there) return addMachine(changing, known, record)
    const { warehouse, station, machineType, labelCode: _label, ...rest } = record
    if (known.machineType(machineType).id !== there.machineTypeId)
      refuse(
        'machineType',
        'OTHER_TYPE',
        'is another type than this machine has in the books.',
        'Correct the type; a machine does not change it.',
      )
    const place = known.warehouse(warehouse)
    if (place.id !== there.warehouseId)
      refuse(
        'warehouse',
        'STANDS_ELSEWHERE',
        'is not where this machine stands.',
        'Move the machine on its page, so that its history keeps both places.',
      )
    const stationId = await stationOf(changing, place.id, station)
    const { machine: now, placed } = await machineNow(changing, there.id)
    if (stationId !== null && stationId !== (placed?.stationId ?? null))
      refuse(
        'station',
        'STANDS_ELSEWHERE',
        'is not where this machine stands.',
        'Move the machine on its page, so that its history keeps both places.',
      )
    const changed = differences(rest, now)
    if (Object.keys(changed).length === 0) return UNCHANGED
    const { after } = await putFields(changing, there.id, changed as RouteBody<Routes['patchMachine']>)
    return { outcome: 'changed', effect: { changedMachineId: there.id, before: before(now, changed), version: after.version } }
  })
}

interface Fitted extends Record<string, unknown> {
  componentId: string
  placementId: string
  newOn: string | null
}

async function fitted(changing: Changing, machine: MachineKnown, typeId: string): Promise<Fitted | null> {
  return changing.maybeOne<Fitted>(
    `SELECT c.id AS "componentId", p.id AS "placementId", c.new_on AS "newOn" FROM component_placement p
     JOIN component c ON c.organisation_id = p.organisation_id AND c.id = p.component_id
     WHERE p.organisation_id = $1 AND p.machine_id = $2 AND c.component_type_id = $3 AND p.to_date IS NULL ORDER BY p.id LIMIT 1`,
    [machine.id, typeId],
  )
}

async function componentTypeOf(changing: Changing, machine: MachineKnown, name: unknown): Promise<{ id: string }> {
  const type = await changing.maybeOne<{ id: string }>(
    `SELECT c.id FROM component_type c JOIN machine_type_component x ON x.organisation_id = c.organisation_id AND x.component_type_id = c.id
     WHERE c.organisation_id = $1 AND x.machine_type_id = $2 AND (lower(c.name) = lower($3) OR c.key = lower($3))`,
    [machine.machineTypeId, String(name)],
  )
  return (
    type ??
    refuse('component', 'UNKNOWN_COMPONENT', 'is no component of this machine’s type.', 'Use the names that stand on the machine’s page.')
  )
}

export async function writeComponents(changing: Changing, rows: readonly RowToDo[]): Promise<RowResult[]> {
  const known = await Known.of(
    changing,
    rows.map(({ record }) => record.labelCode),
  )
  return eachRow(changing, rows, 'component', async (record) => {
    const machine = known.machine(record.labelCode)
    const type = await componentTypeOf(changing, machine, record.component)
    const newOn = (record.newOn ?? null) as string | null
    if (newOn !== null && newOn > localDateOf(changing.now, machine.zone ?? 'UTC'))
      refuse('newOn', 'IN_THE_FUTURE', 'lies in the future.', 'Correct the date.')
    const there = await fitted(changing, machine, type.id)
    if (there && (newOn === null || newOn === there.newOn)) return UNCHANGED
    changing.datesMayMove(machine.warehouseId)
    if (there) {
      await changing.run(`UPDATE component SET new_on = $3 WHERE organisation_id = $1 AND id = $2`, [there.componentId, newOn])
      await changing.run(`UPDATE component_placement SET from_date = $3 WHERE organisation_id = $1 AND id = $2`, [there.placementId, newOn])
      changing.note({
        action: 'change',
        subjectKind: 'component',
        subjectId: there.componentId,
        before: { newOn: there.newOn },
        after: { newOn },
      })
      return {
        outcome: 'changed',
        effect: { changedComponentId: there.componentId, placementId: there.placementId, before: { newOn: there.newOn } },
      }
    }
    const [componentId, placementId] = [newId(), newId()]
    await changing.run(`INSERT INTO component (organisation_id, id, component_type_id, new_on) VALUES ($1, $2, $3, $4)`, [
      componentId,
      type.id,
      newOn,
    ])
    await changing.run(
      `INSERT INTO component_placement (organisation_id, id, component_id, machine_id, from_date) VALUES ($1, $2, $3, $4, $5)`,
      [placementId, componentId, machine.id, newOn],
    )
    changing.note({ action: 'create', subjectKind: 'component', subjectId: componentId, after: { machineId: machine.id, newOn } })
    return { outcome: 'new', effect: { componentId, placementId } }
  })
}
