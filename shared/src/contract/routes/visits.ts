/** Visits. */
import { pageOf } from '../common.js'
import * as rounds from '../rounds.js'
import type { Route } from '../route-kinds.js'
import { created, crew, desk, ok, v1 } from './base.js'

export const visitsRoutes = {
  listVisits: ok({
    method: 'GET',
    path: `${v1}/visits`,
    noun: 'visits',
    summary: 'Visits',
    access: crew,
    query: rounds.listVisitsQuerySchema,
    response: pageOf(rounds.visitSchema),
  }),
  createVisit: created({
    method: 'POST',
    path: `${v1}/visits`,
    noun: 'visits',
    summary: 'Plan a visit',
    access: desk,
    body: rounds.createVisitRequestSchema,
    response: rounds.visitDetailSchema,
  }),
  createVisitLink: created({
    method: 'POST',
    path: `${v1}/visits/:visitId/links`,
    noun: 'visits',
    summary: 'A link for a visiting technician: this visit alone, until its night',
    access: desk,
    params: rounds.visitParamsSchema,
    response: rounds.visitLinkSchema,
    answerHeldBack: true,
  }),
  getVisit: ok({
    method: 'GET',
    path: `${v1}/visits/:visitId`,
    noun: 'visits',
    summary: 'One visit with its work orders',
    access: crew,
    params: rounds.visitParamsSchema,
    response: rounds.visitDetailSchema,
    visitLink: 'visit',
  }),
  patchVisit: ok({
    method: 'PATCH',
    path: `${v1}/visits/:visitId`,
    noun: 'visits',
    summary: 'Change a visit',
    access: desk,
    params: rounds.visitParamsSchema,
    body: rounds.patchVisitRequestSchema,
    response: rounds.visitDetailSchema,
  }),
} satisfies Record<string, Route>
