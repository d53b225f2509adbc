/** Health, the installation, the record of changes, the organisation. */
import { pageOf } from '../common.js'
import * as machines from '../machines.js'
import * as parts from '../parts.js'
import * as sessions from '../sessions.js'
import type { Route } from '../route-kinds.js'
import { administrator, desk, everyone, ok, v1 } from './base.js'

export const organisationRoutes = {
  health: ok({
    method: 'GET',
    path: `${v1}/health`,
    noun: 'health',
    summary: 'What should have moved and has not',
    access: desk,
    response: parts.healthSchema,
  }),
  getInstallation: ok({
    method: 'GET',
    path: `${v1}/installation`,
    noun: 'health',
    summary: 'What is not safe about how this installation is set up',
    access: desk,
    response: parts.installationSchema,
  }),
  listAudit: ok({
    method: 'GET',
    path: `${v1}/audit`,
    noun: 'audit',
    summary: 'Who changed what, when',
    access: desk,
    query: machines.listAuditQuerySchema,
    response: pageOf(machines.auditEntrySchema),
  }),
  exportOrganisation: ok({
    method: 'GET',
    path: `${v1}/organisation/file`,
    noun: 'organisation',
    summary: 'Everything of the organisation but ways of signing in, as a file with a checksum; another installation takes it over',
    access: administrator,
    response: sessions.fileStreamSchema,
    file: 'application/gzip',
  }),
  organisation: ok({
    method: 'GET',
    path: `${v1}/organisation`,
    noun: 'session',
    summary: 'The own organisation',
    access: everyone,
    response: sessions.organisationSchema,
  }),
} satisfies Record<string, Route>
