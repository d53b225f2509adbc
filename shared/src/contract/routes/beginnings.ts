/** The first ten minutes. */
import { listOf } from '../common.js'
import * as beginnings from '../beginnings.js'
import * as warehouses from '../warehouses.js'
import type { Route } from '../route-kinds.js'
import { created, desk, ok, v1 } from './base.js'

export const beginningsRoutes = {
  listPlaces: ok({
    method: 'GET',
    path: `${v1}/places`,
    noun: 'beginnings',
    summary: 'Towns of this name, with their time zones',
    access: desk,
    query: beginnings.listPlacesQuerySchema,
    response: listOf(beginnings.placeSchema),
  }),
  beginWarehouse: created({
    method: 'POST',
    path: `${v1}/beginnings`,
    noun: 'beginnings',
    summary: 'The first ten minutes: a warehouse, its people and so many machines of one kind, all or nothing',
    access: desk,
    body: beginnings.beginRequestSchema,
    response: beginnings.beginningSchema,
  }),
  getBeginning: ok({
    method: 'GET',
    path: `${v1}/warehouses/:warehouseId/beginning`,
    noun: 'beginnings',
    summary: 'How far the first steps of a warehouse have come',
    access: desk,
    params: warehouses.warehouseParamsSchema,
    response: beginnings.beginningSchema,
  }),
  sendTestMails: created({
    method: 'POST',
    path: `${v1}/warehouses/:warehouseId/test-mails`,
    noun: 'beginnings',
    summary: 'A test mail to the two people named for the reminders',
    access: desk,
    params: warehouses.warehouseParamsSchema,
    response: listOf(beginnings.testMailSchema),
  }),
} satisfies Record<string, Route>
