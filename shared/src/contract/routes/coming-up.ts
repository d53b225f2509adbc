/** This week and what falls due. */
import * as due from '../forecasts.js'
import type { Route } from '../route-kinds.js'
import { crew, ok, v1 } from './base.js'

export const comingUpRoutes = {
  thisWeek: ok({
    method: 'GET',
    path: `${v1}/this-week`,
    noun: 'coming up',
    summary: 'What must be known and decided this week',
    access: crew,
    response: due.thisWeekSchema,
  }),
  comingUp: ok({
    method: 'GET',
    path: `${v1}/coming-up`,
    noun: 'coming up',
    summary: 'What falls due by week and warehouse',
    access: crew,
    query: due.comingUpQuerySchema,
    response: due.comingUpSchema,
    keyScope: 'dates:read',
  }),
} satisfies Record<string, Route>
