/** Stoppages and the review. */
import { pageOf } from '../common.js'
import * as dates from '../date-scores.js'
import * as life from '../life-curves.js'
import * as stoppages from '../stoppages.js'
import type { Route } from '../route-kinds.js'
import { created, crew, desk, everyone, ok, v1 } from './base.js'

export const stoppagesRoutes = {
  listStoppages: ok({
    method: 'GET',
    path: `${v1}/stoppages`,
    noun: 'stoppages',
    summary: 'Stoppages, newest first',
    access: crew,
    query: stoppages.listStoppagesQuerySchema,
    response: pageOf(stoppages.stoppageSchema),
  }),
  reportStoppage: created({
    method: 'POST',
    path: `${v1}/stoppages`,
    noun: 'stoppages',
    summary: 'Report a stoppage',
    access: everyone,
    body: stoppages.reportStoppageRequestSchema,
    response: stoppages.stoppageSchema,
    keyScope: 'stoppages:write',
  }),
  getStoppage: ok({
    method: 'GET',
    path: `${v1}/stoppages/:stoppageId`,
    noun: 'stoppages',
    summary: 'One stoppage',
    access: crew,
    params: stoppages.stoppageParamsSchema,
    response: stoppages.oneStoppageSchema,
  }),
  patchStoppage: ok({
    method: 'PATCH',
    path: `${v1}/stoppages/:stoppageId`,
    noun: 'stoppages',
    summary: 'Its moments and what was wrong',
    access: crew,
    params: stoppages.stoppageParamsSchema,
    body: stoppages.patchStoppageRequestSchema,
    response: stoppages.stoppageSchema,
  }),
  closeStoppage: ok({
    method: 'POST',
    path: `${v1}/stoppages/:stoppageId/closing`,
    noun: 'stoppages',
    summary: 'Works again',
    access: everyone,
    params: stoppages.stoppageParamsSchema,
    body: stoppages.closeStoppageRequestSchema,
    response: stoppages.stoppageSchema,
  }),
  review: ok({
    method: 'GET',
    path: `${v1}/review`,
    noun: 'review',
    summary: "A period's stoppages by machine, the worst first",
    access: desk,
    query: stoppages.reviewQuerySchema,
    response: stoppages.reviewSchema,
  }),
  lifeCurve: ok({
    method: 'GET',
    path: `${v1}/review/life-curve`,
    noun: 'review',
    summary: 'How long a kind of part lasts: what was seen, what is fitted, the parts behind',
    access: desk,
    query: life.lifeCurveQuerySchema,
    response: life.lifeCurveSchema,
  }),
  dateScores: ok({
    method: 'GET',
    path: `${v1}/review/dates`,
    noun: 'review',
    summary: 'How good the own dates have been, by kind of trigger',
    access: desk,
    query: dates.dateScoresQuerySchema,
    response: dates.dateScoresSchema,
  }),
  listScoredDates: ok({
    method: 'GET',
    path: `${v1}/review/dates/rows`,
    noun: 'review',
    summary: 'The dates behind it, the newest reset first',
    access: desk,
    query: dates.scoredDatesQuerySchema,
    response: dates.scoredDatesSchema,
  }),
} satisfies Record<string, Route>
