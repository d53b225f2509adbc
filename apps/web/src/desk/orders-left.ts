/** Orders in the hands of somebody who is to be let go, and who could take them over. Pure. */
import type { Answer } from '../client/api.js'
import { sayCount, sayList } from '../ui/format.js'
import type { Person } from './whole-lists.js'

type Order = Pick<Answer<'listWorkOrders'>['items'][number], 'warehouse' | 'skill'>
type Taker = Pick<Person, 'id' | 'name' | 'role' | 'disabled' | 'warehouseIds' | 'electricallyQualified'>

/** 'At a technician': as the page Work calls and lists them. */
export const AT_A_TECHNICIAN = 'issued,accepted,under_way,waiting,returned'

const NAMED_AT_MOST = 4
function sayTakers(names: readonly string[]): string {
  if (names.length === 0) return 'nobody else who serves it may take over'
  const shown = names.slice(0, NAMED_AT_MOST)
  const more = names.length - shown.length
  return `${sayList([...shown, ...(more > 0 ? [`${more} more`] : [])], 'or')} could take over`
}

/** A sentence a warehouse and kind of order: 'Harbour Shed: 3 orders; Kim or Ode could take over.' */
export function sayOrdersLeft(orders: readonly Order[], people: readonly Taker[], leavingId: string): string[] {
  const groups = new Map<string, Order[]>()
  for (const order of orders) {
    const key = `${order.warehouse.name} ${order.warehouse.id} ${order.skill === 'electrical' ? 'electrical' : ''}`
    groups.set(key, [...(groups.get(key) ?? []), order])
  }
  return [...groups]
    .sort(([one], [other]) => one.localeCompare(other))
    .flatMap(([, [first, ...rest]]) => {
      if (!first) return []
      const electrical = first.skill === 'electrical'
      const able = people.filter(
        ({ id, role, disabled, warehouseIds, electricallyQualified }) =>
          id !== leavingId &&
          role === 'technician' &&
          !disabled &&
          warehouseIds.includes(first.warehouse.id) &&
          (!electrical || electricallyQualified),
      )
      const what = sayCount(rest.length + 1, electrical ? 'electrical order' : 'order', electrical ? 'electrical orders' : 'orders')
      return [`${first.warehouse.name}: ${what}; ${sayTakers(able.map(({ name }) => name))}.`]
    })
}
