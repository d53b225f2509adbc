/** Findings: of one machine, and those that wait for a person. */
import { pageOf, pageQuerySchema } from '../common.js'
import * as findings from '../findings.js'
import * as machines from '../machines.js'
import type { Route } from '../route-kinds.js'
import { created, crew, desk, ok, v1 } from './base.js'

export const findingsRoutes = {
  machineFindings: ok({
    method: 'GET',
    path: `${v1}/machines/:machineId/findings`,
    noun: 'findings',
    summary: 'What was found: open ones first, then newest first',
    access: crew,
    params: machines.machineParamsSchema,
    query: pageQuerySchema,
    response: pageOf(findings.findingSchema),
  }),
  reportFinding: created({
    method: 'POST',
    path: `${v1}/machines/:machineId/findings`,
    noun: 'findings',
    summary: 'Write down a finding',
    access: crew,
    params: machines.machineParamsSchema,
    body: findings.reportFindingRequestSchema,
    response: findings.findingSchema,
  }),
  listFindings: ok({
    method: 'GET',
    path: `${v1}/findings`,
    noun: 'findings',
    summary: 'What was found and waits for a person: grave ones first, then oldest first',
    access: desk,
    query: findings.listFindingsQuerySchema,
    response: pageOf(findings.waitingFindingSchema),
  }),
  settleFinding: ok({
    method: 'POST',
    path: `${v1}/findings/:findingId/settling`,
    noun: 'findings',
    summary: 'Say that a finding is dealt with, and how',
    access: desk,
    params: findings.findingParamsSchema,
    body: findings.settleFindingRequestSchema,
    response: findings.findingSchema,
  }),
  giveFinding: ok({
    method: 'POST',
    path: `${v1}/findings/:findingId/task`,
    noun: 'findings',
    summary: 'Let a task deal with a finding: it falls due',
    access: desk,
    params: findings.findingParamsSchema,
    body: findings.giveFindingRequestSchema,
    response: findings.findingSchema,
  }),
} satisfies Record<string, Route>
