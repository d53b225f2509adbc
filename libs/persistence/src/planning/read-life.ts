import type { LifeOfComponent } from '@tapewarden/scheduling'
import type { PgScope } from '../pg-scope.js'
import type { WarehouseFacts } from './read-warehouse.js'

/** Trade range of blades: 5 and 20 years as the 5 % and 95 % points (common practice, no source). */
const BLADE_PRIOR = { shape: 2.934, scaleYears: 13.76 }

export async function readLife(
  _scope: PgScope,
  _facts: WarehouseFacts,
  _today: number,
): Promise<Readonly<Record<string, LifeOfComponent>>> {
  return { blade: { ...BLADE_PRIOR, removals: 0, failures: 0, shapeLower95: null } }
}
