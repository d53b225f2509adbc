/** Falling-due of tasks: put off, skipped. */
import { pageOf } from '../common.js'
import * as due from '../forecasts.js'
import type { Route } from '../route-kinds.js'
import { crew, desk, ok, v1 } from './base.js'

export const occurrencesRoutes = {
  listOccurrences: ok({
    method: 'GET',
    path: `${v1}/occurrences`,
    noun: 'occurrences',
    summary: 'Fallings-due',
    access: crew,
    query: due.listOccurrencesQuerySchema,
    response: pageOf(due.occurrenceSchema),
    keyScope: 'dates:read',
  }),
  getOccurrence: ok({
    method: 'GET',
    path: `${v1}/occurrences/:occurrenceId`,
    noun: 'occurrences',
    summary: 'One falling-due',
    access: crew,
    params: due.occurrenceParamsSchema,
    response: due.occurrenceSchema,
  }),
  putOffOccurrence: ok({
    method: 'POST',
    path: `${v1}/occurrences/:occurrenceId/putting-off`,
    noun: 'occurrences',
    summary: 'Put off until a day; answers the next number',
    access: desk,
    params: due.occurrenceParamsSchema,
    body: due.putOffRequestSchema,
    response: due.occurrenceSchema,
  }),
  previewSkip: ok({
    method: 'POST',
    path: `${v1}/occurrences/:occurrenceId/skipping-preview`,
    noun: 'occurrences',
    summary: 'When it would fall due next if it were skipped now; keeps nothing',
    access: desk,
    params: due.occurrenceParamsSchema,
    response: due.skipPreviewSchema,
  }),
  skipOccurrence: ok({
    method: 'POST',
    path: `${v1}/occurrences/:occurrenceId/skipping`,
    noun: 'occurrences',
    summary: 'Skip it, with a reason; never a safety check',
    access: desk,
    params: due.occurrenceParamsSchema,
    body: due.skipRequestSchema,
    response: due.occurrenceSchema,
  }),
} satisfies Record<string, Route>
