/** Every route of the api, room by room. A route that is not here does not exist; one without access does not compile. */
import type { Route } from './route-kinds.js'
import { accountLinksRoutes } from './routes/account-links.js'
import { beginningsRoutes } from './routes/beginnings.js'
import { comingUpRoutes } from './routes/coming-up.js'
import { evidenceRoutes } from './routes/evidence.js'
import { factorsRoutes } from './routes/factors.js'
import { findingsRoutes } from './routes/findings.js'
import { importsRoutes } from './routes/imports.js'
import { labelsRoutes } from './routes/labels.js'
import { machineTypesRoutes } from './routes/machine-types.js'
import { machinesRoutes } from './routes/machines.js'
import { mailRoutes } from './routes/mail.js'
import { occurrencesRoutes } from './routes/occurrences.js'
import { organisationRoutes } from './routes/organisation.js'
import { partsRoutes } from './routes/parts.js'
import { peopleRoutes } from './routes/people.js'
import { probesRoutes } from './routes/probes.js'
import { roundsRoutes } from './routes/rounds.js'
import { sessionsRoutes } from './routes/sessions.js'
import { signInsRoutes } from './routes/sign-ins.js'
import { stoppagesRoutes } from './routes/stoppages.js'
import { tabletsRoutes } from './routes/tablets.js'
import { visitsRoutes } from './routes/visits.js'
import { warehousesRoutes } from './routes/warehouses.js'
import { webhooksRoutes } from './routes/webhooks.js'
import { workOrdersRoutes } from './routes/work-orders.js'

/** In the order of the document. A name stands in one room alone: a test counts them. */
export const routeRooms: readonly Record<string, Route>[] = [
  probesRoutes,
  sessionsRoutes,
  tabletsRoutes,
  factorsRoutes,
  signInsRoutes,
  accountLinksRoutes,
  comingUpRoutes,
  beginningsRoutes,
  warehousesRoutes,
  peopleRoutes,
  machineTypesRoutes,
  machinesRoutes,
  findingsRoutes,
  evidenceRoutes,
  occurrencesRoutes,
  workOrdersRoutes,
  roundsRoutes,
  labelsRoutes,
  importsRoutes,
  visitsRoutes,
  stoppagesRoutes,
  partsRoutes,
  mailRoutes,
  webhooksRoutes,
  organisationRoutes,
]

export const routes = {
  ...probesRoutes,
  ...sessionsRoutes,
  ...tabletsRoutes,
  ...factorsRoutes,
  ...signInsRoutes,
  ...accountLinksRoutes,
  ...comingUpRoutes,
  ...beginningsRoutes,
  ...warehousesRoutes,
  ...peopleRoutes,
  ...machineTypesRoutes,
  ...machinesRoutes,
  ...findingsRoutes,
  ...evidenceRoutes,
  ...occurrencesRoutes,
  ...workOrdersRoutes,
  ...roundsRoutes,
  ...labelsRoutes,
  ...importsRoutes,
  ...visitsRoutes,
  ...stoppagesRoutes,
  ...partsRoutes,
  ...mailRoutes,
  ...webhooksRoutes,
  ...organisationRoutes,
} satisfies Record<string, Route>

export type Routes = typeof routes
export type RouteName = keyof Routes
