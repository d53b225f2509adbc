/** What was done to many machines at once, kept with what they were before, so that it can be taken back. */
import { newId } from '@tapewarden/platform'
import type { FleetChange, MachineStatus } from '@tapewarden/shared'
import type { Placed } from '../machines/machine-now.js'
import type { Changing, Reading } from '../use/work.js'

/** One machine of a change; what was not touched is left out. registered: its id alone. */
export interface Effect {
  machineId: string
  labelCode: string
  /** Of the machine's row after the change: a higher one means that somebody changed its fields since. */
  version?: number
  fields?: { before: Record<string, unknown>; after: Record<string, unknown> }
  status?: { before: MachineStatus; after: MachineStatus }
  place?: { before: Placed | null; after: Placed }
}
type Kind = FleetChange['kind']

const SELECT = `SELECT c.id, c.kind, c.words, c.machine_count AS "machineCount", p.name AS "personName", c.made_at AS "madeAt", c.undone_at AS "undoneAt"
  FROM fleet_change c LEFT JOIN person p ON p.organisation_id = c.organisation_id AND p.id = c.person_id WHERE c.organisation_id = $1`
const SHOWN = 30

type ChangeRow = FleetChange & Record<string, unknown>

export function getChange(reading: Reading, id: string): Promise<FleetChange> {
  return reading.one<ChangeRow>('change', `${SELECT} AND c.id = $2`, [id])
}

export async function listChanges(reading: Reading): Promise<{ items: FleetChange[] }> {
  return { items: await reading.rows<ChangeRow>(`${SELECT} ORDER BY c.made_at DESC, c.id DESC LIMIT ${SHOWN}`) }
}

export async function recordChange(
  changing: Changing,
  kind: Kind,
  words: string,
  effects: readonly Effect[],
  warehouseIds: readonly (string | null)[],
): Promise<FleetChange> {
  const id = newId()
  await changing.run(
    `INSERT INTO fleet_change (organisation_id, id, kind, words, machine_count, warehouse_ids, effects, person_id, made_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`,
    [
      id,
      kind,
      words,
      effects.length,
      [...new Set(warehouseIds.filter((one) => one !== null))],
      JSON.stringify(effects),
      changing.who.personId,
      changing.now,
    ],
  )
  return getChange(changing, id)
}
