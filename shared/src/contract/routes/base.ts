/** What every room of the route table uses: who may, which status, the version in the path. */
import type { Route } from '../route-kinds.js'

export const everyone = ['administrator', 'manager', 'technician', 'instructed'] as const
/** Those who see machines and their dates. */
export const crew = ['administrator', 'manager', 'technician'] as const
export const desk = ['administrator', 'manager'] as const
export const administrator = ['administrator'] as const

export const created = <const R extends Omit<Route, 'status'>>(route: R) => ({ ...route, status: 201 as const })
export const ok = <const R extends Omit<Route, 'status'>>(route: R) => ({ ...route, status: 200 as const })
export const v1 = '/api/v1' as const
