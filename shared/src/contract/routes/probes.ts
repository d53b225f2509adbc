/** The process and the database, for whoever watches the server. */
import * as parts from '../parts.js'
import type { Route } from '../route-kinds.js'
import { ok } from './base.js'

export const probesRoutes = {
  live: ok({
    method: 'GET',
    path: '/health/live',
    noun: 'health',
    summary: 'The process runs',
    access: 'public',
    response: parts.livenessSchema,
  }),
  ready: ok({
    method: 'GET',
    path: '/health/ready',
    noun: 'health',
    summary: 'The database answers',
    access: 'public',
    response: parts.livenessSchema,
  }),
} satisfies Record<string, Route>
