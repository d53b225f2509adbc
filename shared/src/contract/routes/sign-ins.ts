/** Sign-in by an organisation's own provider. */
import { listOf } from '../common.js'
import type { Route } from '../route-kinds.js'
import * as sessions from '../sessions.js'
import * as signIns from '../sign-ins.js'
import { ok, v1 } from './base.js'

export const signInsRoutes = {
  listSignIns: ok({
    method: 'GET',
    path: `${v1}/session/ways`,
    noun: 'session',
    summary: 'Sign-ins of organisations’ own providers that this installation knows',
    access: 'public',
    response: listOf(signIns.signInWaySchema),
  }),
  beginSignIn: ok({
    method: 'POST',
    path: `${v1}/session/elsewhere/:signInKey`,
    noun: 'session',
    summary: 'Begin a sign-in at an organisation’s own provider (OpenID Connect); answers where to send the browser',
    access: 'public',
    params: signIns.signInWayParamsSchema,
    response: signIns.begunSignInSchema,
  }),
  finishSignIn: ok({
    method: 'POST',
    path: `${v1}/session/elsewhere`,
    noun: 'session',
    summary: 'Finish it with what the provider sent back; sets the cookie',
    access: 'public',
    body: signIns.finishSignInRequestSchema,
    response: sessions.meSchema,
  }),
} satisfies Record<string, Route>
