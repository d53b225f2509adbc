/** Parts: stock and needs. */
import { listOf, pageOf } from '../common.js'
import * as parts from '../parts.js'
import type { Route } from '../route-kinds.js'
import { created, crew, desk, ok, v1 } from './base.js'

export const partsRoutes = {
  listParts: ok({
    method: 'GET',
    path: `${v1}/parts`,
    noun: 'parts',
    summary: 'Parts and stock',
    access: crew,
    query: parts.listPartsQuerySchema,
    response: pageOf(parts.partSchema),
  }),
  createPart: created({
    method: 'POST',
    path: `${v1}/parts`,
    noun: 'parts',
    summary: 'Add a part',
    access: desk,
    body: parts.createPartRequestSchema,
    response: parts.partSchema,
  }),
  getPart: ok({
    method: 'GET',
    path: `${v1}/parts/:partId`,
    noun: 'parts',
    summary: 'One part',
    access: crew,
    params: parts.partParamsSchema,
    response: parts.partSchema,
  }),
  patchPart: ok({
    method: 'PATCH',
    path: `${v1}/parts/:partId`,
    noun: 'parts',
    summary: 'Change a part',
    access: desk,
    params: parts.partParamsSchema,
    body: parts.patchPartRequestSchema,
    response: parts.partSchema,
  }),
  putPartStock: ok({
    method: 'PUT',
    path: `${v1}/parts/:partId/stock/:warehouseId`,
    noun: 'parts',
    summary: 'Stock and lead time in one warehouse',
    access: desk,
    params: parts.partStockParamsSchema,
    body: parts.putStockRequestSchema,
    response: parts.partSchema,
  }),
  partNeeds: ok({
    method: 'GET',
    path: `${v1}/part-needs`,
    noun: 'parts',
    summary: 'What the dates ask for, and when to order',
    access: crew,
    query: parts.partNeedsQuerySchema,
    response: listOf(parts.partNeedSchema),
  }),
} satisfies Record<string, Route>
