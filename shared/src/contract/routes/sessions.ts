/** Signing in, the own account, own saved views. */
import { doneSchema, listOf } from '../common.js'
import * as views from '../saved-views.js'
import * as sessions from '../sessions.js'
import type { Route } from '../route-kinds.js'
import { created, crew, everyone, ok, v1 } from './base.js'

export const sessionsRoutes = {
  signIn: ok({
    method: 'POST',
    path: `${v1}/session`,
    noun: 'session',
    summary: 'Sign in by password; sets the cookie',
    access: 'public',
    body: sessions.signInRequestSchema,
    response: sessions.meSchema,
  }),
  signOut: ok({ method: 'DELETE', path: `${v1}/session`, noun: 'session', summary: 'Sign out', access: everyone, response: doneSchema }),
  listSessions: ok({
    method: 'GET',
    path: `${v1}/sessions`,
    noun: 'session',
    summary: 'Own sessions',
    access: everyone,
    response: listOf(sessions.sessionSchema),
  }),
  endSession: ok({
    method: 'DELETE',
    path: `${v1}/sessions/:sessionId`,
    noun: 'session',
    summary: 'End one of the own sessions',
    access: everyone,
    params: sessions.sessionParamsSchema,
    response: doneSchema,
  }),
  me: ok({
    method: 'GET',
    path: `${v1}/me`,
    noun: 'session',
    summary: 'Who is signed in, and the warehouses they see',
    access: everyone,
    response: sessions.meSchema,
    visitLink: 'own',
  }),
  listSavedViews: ok({
    method: 'GET',
    path: `${v1}/me/views`,
    noun: 'saved views',
    summary: 'Own filters kept under a name',
    access: crew,
    response: listOf(views.savedViewSchema),
  }),
  saveView: created({
    method: 'POST',
    path: `${v1}/me/views`,
    noun: 'saved views',
    summary: 'Keep filters under a name; the same name again replaces them',
    access: crew,
    body: views.saveViewRequestSchema,
    response: views.savedViewSchema,
  }),
  removeView: ok({
    method: 'DELETE',
    path: `${v1}/me/views/:savedViewId`,
    noun: 'saved views',
    summary: 'Forget a view',
    access: crew,
    params: views.savedViewParamsSchema,
    response: doneSchema,
  }),
  patchMe: ok({
    method: 'PATCH',
    path: `${v1}/me`,
    noun: 'session',
    summary: 'Own language, units, lead',
    access: everyone,
    body: sessions.patchMeRequestSchema,
    response: sessions.meSchema,
  }),
  changePassword: ok({
    method: 'POST',
    path: `${v1}/me/password`,
    noun: 'session',
    summary: 'Change the own password; ends other sessions',
    access: everyone,
    body: sessions.changePasswordRequestSchema,
    response: doneSchema,
  }),
} satisfies Record<string, Route>
