/** Labels and sheets on paper; the packer's page. */
import * as imports from '../imports.js'
import * as labels from '../labels.js'
import * as packers from '../packers.js'
import * as work from '../work-orders.js'
import type { Route } from '../route-kinds.js'
import { crew, desk, ok, v1 } from './base.js'

export const labelsRoutes = {
  printLabels: ok({
    method: 'POST',
    path: `${v1}/labels`,
    noun: 'labels',
    summary: 'Labels as PDF for label sheets or a label printer; a machine without one gets its own',
    access: desk,
    body: labels.printLabelsRequestSchema,
    response: imports.fileSchema,
  }),
  jobSheet: ok({
    method: 'GET',
    path: `${v1}/work-orders/:workOrderId/job-sheet`,
    noun: 'labels',
    summary: 'A work order on paper, as PDF',
    access: crew,
    params: work.workOrderParamsSchema,
    query: labels.jobSheetQuerySchema,
    response: imports.fileSchema,
  }),
  packerPage: ok({
    method: 'GET',
    path: `${v1}/labels/:token`,
    noun: 'packers',
    summary: 'What a scan of the label shows, without an account',
    access: 'public',
    params: packers.labelTokenParamsSchema,
    response: packers.packerPageSchema,
  }),
  packerReport: ok({
    method: 'POST',
    path: `${v1}/labels/:token/reports`,
    noun: 'packers',
    summary: 'What is wrong, in one tap; a second report joins the open one',
    access: 'public',
    params: packers.labelTokenParamsSchema,
    body: packers.packerReportRequestSchema,
    response: packers.packerPageSchema,
  }),
  packerWorksAgain: ok({
    method: 'POST',
    path: `${v1}/labels/:token/works-again`,
    noun: 'packers',
    summary: 'Works again',
    access: 'public',
    params: packers.labelTokenParamsSchema,
    response: packers.packerPageSchema,
  }),
  packerCounter: ok({
    method: 'POST',
    path: `${v1}/labels/:token/counter`,
    noun: 'packers',
    summary: 'What the counter shows',
    access: 'public',
    params: packers.labelTokenParamsSchema,
    body: packers.packerCounterRequestSchema,
    response: packers.packerPageSchema,
  }),
  packerTap: ok({
    method: 'POST',
    path: `${v1}/labels/:token/monthly-tap`,
    noun: 'packers',
    summary: 'How much it runs, once a month',
    access: 'public',
    params: packers.labelTokenParamsSchema,
    body: packers.packerTapRequestSchema,
    response: packers.packerPageSchema,
  }),
} satisfies Record<string, Route>
