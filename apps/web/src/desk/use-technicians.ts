import { useQuery } from '@tanstack/react-query'
import { type Answer, call } from '../client/api.js'
import { readPages } from '../client/pages.js'
import { mayDecide, useMe } from './me.js'
import type { Person } from './whole-lists.js'

/** The technicians who may take an order of a warehouse that asks for this skill, all of them; null: not known yet. */
export function useTechnicians(
  warehouseId: string,
  skill: Answer<'getWorkOrder'>['skill'] = 'technician',
): { technicians: Person[] | null; error: unknown } {
  // One list for the orders of all warehouses on a page.
  const { data, error } = useQuery({
    queryKey: ['people', 'technicians'],
    queryFn: () => readPages((from) => call('listPeople', { query: { role: 'technician', limit: 200, ...from } })),
    enabled: mayDecide(useMe()),
  })
  const able = data?.filter(
    ({ disabled, warehouseIds, electricallyQualified }) =>
      !disabled && warehouseIds.includes(warehouseId) && (skill !== 'electrical' || electricallyQualified),
  )
  return { technicians: able ?? null, error }
}
