/** Shared tablets with short codes; what phones still keep. */
import { doneSchema, listOf } from '../common.js'
import * as phones from '../phones.js'
import * as tablets from '../tablets.js'
import type { Route } from '../route-kinds.js'
import { created, desk, everyone, ok, v1 } from './base.js'

export const tabletsRoutes = {
  setShortCode: ok({
    method: 'PUT',
    path: `${v1}/me/short-code`,
    noun: 'tablets',
    summary: 'Own short code for shared tablets; ends turns begun with the former one',
    access: everyone,
    body: tablets.setShortCodeRequestSchema,
    response: tablets.shortCodeSchemaOut,
  }),
  listTablets: ok({
    method: 'GET',
    path: `${v1}/tablets`,
    noun: 'tablets',
    summary: 'Shared tablets, those in use first',
    access: desk,
    response: listOf(tablets.tabletSchema),
  }),
  createTablet: created({
    method: 'POST',
    path: `${v1}/tablets`,
    noun: 'tablets',
    summary: 'Make a device a shared tablet of one warehouse; its secret is shown once',
    access: desk,
    body: tablets.createTabletRequestSchema,
    response: tablets.createdTabletSchema,
    answerHeldBack: true,
  }),
  endTablet: ok({
    method: 'DELETE',
    path: `${v1}/tablets/:tabletId`,
    noun: 'tablets',
    summary: 'End a shared tablet and every turn on it, at once',
    access: desk,
    params: tablets.tabletParamsSchema,
    response: tablets.tabletSchema,
  }),
  thisTablet: ok({
    method: 'GET',
    path: `${v1}/this-tablet`,
    noun: 'tablets',
    summary: 'Which tablet this is, and who may work there',
    access: 'tablet',
    response: tablets.thisTabletSchema,
  }),
  beginTurn: ok({
    method: 'POST',
    path: `${v1}/this-tablet/turns`,
    noun: 'tablets',
    summary: 'Who is working: a person and their short code',
    access: 'tablet',
    body: tablets.beginTurnRequestSchema,
    response: tablets.turnSchema,
    answerHeldBack: true,
  }),
  sayKept: ok({
    method: 'POST',
    path: `${v1}/phone-words`,
    noun: 'phones',
    summary: 'What a phone still keeps; answers what is missing of what was kept elsewhere',
    access: everyone,
    body: phones.sayKeptRequestSchema,
    response: phones.sayKeptSchema,
    visitLink: 'own',
  }),
  settleKept: ok({
    method: 'POST',
    path: `${v1}/phone-words/:storageId/settling`,
    noun: 'phones',
    summary: 'Missing entries that a person has seen: entered again, or not needed',
    access: everyone,
    params: phones.storageParamsSchema,
    body: phones.settleKeptRequestSchema,
    response: doneSchema,
    visitLink: 'own',
  }),
} satisfies Record<string, Route>
