/** Evidence of use. */
import { pageOf } from '../common.js'
import * as evidence from '../evidence.js'
import type { Route } from '../route-kinds.js'
import { crew, desk, everyone, ok, v1 } from './base.js'

export const evidenceRoutes = {
  postEvidence: ok({
    method: 'POST',
    path: `${v1}/evidence`,
    noun: 'evidence',
    summary: 'One piece of evidence of use',
    access: everyone,
    body: evidence.evidenceItemSchema,
    response: evidence.evidenceOutcomeSchema,
    keyScope: 'evidence:write',
  }),
  postEvidenceInBulk: ok({
    method: 'POST',
    path: `${v1}/evidence/bulk`,
    noun: 'evidence',
    summary: 'Many pieces; a bad one stops nothing else',
    access: desk,
    body: evidence.bulkEvidenceRequestSchema,
    response: evidence.bulkEvidenceResponseSchema,
    keyScope: 'evidence:write',
  }),
  listEvidence: ok({
    method: 'GET',
    path: `${v1}/evidence`,
    noun: 'evidence',
    summary: 'Evidence as given, with what was set aside',
    access: crew,
    query: evidence.listEvidenceQuerySchema,
    response: pageOf(evidence.evidenceSchema),
    keyScope: 'evidence:read',
  }),
  correctEvidence: ok({
    method: 'POST',
    path: `${v1}/evidence/:evidenceId/correction`,
    noun: 'evidence',
    summary: 'Replace it; the wrong one stays in the books',
    access: crew,
    params: evidence.evidenceParamsSchema,
    body: evidence.correctEvidenceRequestSchema,
    response: evidence.evidenceOutcomeSchema,
  }),
  dismissEvidence: ok({
    method: 'POST',
    path: `${v1}/evidence/:evidenceId/dismissal`,
    noun: 'evidence',
    summary: 'Count it no longer, with a reason',
    access: desk,
    params: evidence.evidenceParamsSchema,
    body: evidence.dismissEvidenceRequestSchema,
    response: evidence.evidenceSchema,
  }),
} satisfies Record<string, Route>
