import { InvalidError, newId } from '@tapewarden/platform'
import type { ComponentType, RouteBody, Routes } from '@tapewarden/shared'
import type { Changing } from '../use/work.js'
import { componentName } from './default-plan.js'

export async function createComponentType(changing: Changing, body: RouteBody<Routes['createComponentType']>): Promise<ComponentType> {
  const id = newId()
  await changing.run(`INSERT INTO component_type (organisation_id, id, key, name) VALUES ($1, $2, $3, $4)`, [id, body.key, body.name])
  changing.note({ action: 'create', subjectKind: 'component type', subjectId: id, after: body })
  return { id, ...body }
}

/** Its key stays: plans, parts and machines name it by that. */
export async function patchComponentType(
  changing: Changing,
  componentTypeId: string,
  body: RouteBody<Routes['patchComponentType']>,
): Promise<ComponentType> {
  const before = await changing.one<ComponentType & Record<string, unknown>>(
    'component type',
    `SELECT id, key, name FROM component_type WHERE organisation_id = $1 AND id = $2 FOR UPDATE`,
    [componentTypeId],
  )
  await changing.run(`UPDATE component_type SET name = $3 WHERE organisation_id = $1 AND id = $2`, [componentTypeId, body.name])
  const after = { ...before, name: body.name }
  changing.note({ action: 'change', subjectKind: 'component type', subjectId: componentTypeId, before, after })
  return after
}

/** Component types of the product come into the books when first used. */
export async function ensureComponentTypes(changing: Changing, keys: readonly string[]): Promise<void> {
  const known = keys.flatMap((key) => {
    const name = componentName(key)
    return name ? [{ id: newId(), key, name }] : []
  })
  await changing.run(
    `INSERT INTO component_type (organisation_id, id, key, name)
     SELECT $1, r.id, r.key, r.name FROM jsonb_to_recordset($2::jsonb) AS r(id uuid, key text, name text)
     ON CONFLICT (organisation_id, key) DO NOTHING`,
    [JSON.stringify(known)],
  )
}

export async function putComponents(changing: Changing, machineTypeId: string, keys: readonly string[]): Promise<void> {
  await ensureComponentTypes(changing, keys)
  await changing.run(`DELETE FROM machine_type_component WHERE organisation_id = $1 AND machine_type_id = $2`, [machineTypeId])
  const added = await changing.run(
    `INSERT INTO machine_type_component (organisation_id, machine_type_id, component_type_id)
     SELECT organisation_id, $2, id FROM component_type WHERE organisation_id = $1 AND key = ANY($3::text[])`,
    [machineTypeId, keys],
  )
  if (added !== new Set(keys).size)
    throw new InvalidError('UNKNOWN_COMPONENT_TYPE', 'One of these component types is not in the books.', '/componentKeys')
}
