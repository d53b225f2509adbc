import { createContext, useContext } from 'react'
import type { Answer } from '../client/api.js'

export const MeContext = createContext<Answer<'me'> | null>(null)

/** Who is signed in; only inside the desk's frame. */
export function useMe(): Answer<'me'> {
  const me = useContext(MeContext)
  if (!me) throw new Error('Nobody is signed in here.')
  return me
}

/** The local day of a warehouse, by the server's clock. */
export function useToday(warehouseId?: string): string {
  const me = useMe()
  return me.warehouses.find(({ id }) => id === warehouseId)?.today ?? me.warehouses[0]?.today ?? me.serverTime.slice(0, 10)
}

/** By its clocks times are said. */
export function useZone(warehouseId?: string): string {
  const { warehouses } = useMe()
  return (warehouses.find(({ id }) => id === warehouseId) ?? warehouses[0])?.zone ?? 'UTC'
}

export const mayDecide = (me: Answer<'me'>): boolean => me.person.role === 'manager' || me.person.role === 'administrator'
