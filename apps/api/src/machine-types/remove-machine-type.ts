/** A machine type that was entered by mistake, with all that was written for it; one that a machine is of stays. */
import { ConflictError } from '@tapewarden/platform'
import type { Done } from '@tapewarden/shared'
import type { Changing } from '../use/work.js'
import { getMachineType } from './machine-type-reads.js'

/** Tasks of a plan go with it. */
const OF_TYPE = ['service_plan', 'service_task', 'instruction', 'part_fit'] as const

export async function removeMachineType(changing: Changing, machineTypeId: string): Promise<Done> {
  await changing.rows(`SELECT id FROM machine_type WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [machineTypeId])
  const before = await getMachineType(changing, machineTypeId)
  if (before.machineCount > 0)
    throw new ConflictError(
      'HAS_MACHINES',
      `${before.machineCount === 1 ? 'A machine is' : `${before.machineCount} machines are`} of this type, so it stays; a retired one keeps it, too. It can have another name.`,
    )
  for (const table of OF_TYPE)
    await changing.run(`DELETE FROM ${table} WHERE organisation_id = $1 AND machine_type_id = $2`, [machineTypeId])
  await changing.run(`DELETE FROM machine_type WHERE organisation_id = $1 AND id = $2`, [machineTypeId])
  changing.note({ action: 'remove', subjectKind: 'machine type', subjectId: machineTypeId, before })
  return { done: true }
}
