/** Invitations and forgotten passwords, by a link from a mail. */
import { doneSchema } from '../common.js'
import * as sessions from '../sessions.js'
import type { Route } from '../route-kinds.js'
import { ok, v1 } from './base.js'

export const accountLinksRoutes = {
  askForReset: ok({
    method: 'POST',
    path: `${v1}/password-resets`,
    noun: 'session',
    summary: 'A link for a new password, by mail; the answer is the same for an unknown address',
    access: 'public',
    body: sessions.resetRequestSchema,
    response: doneSchema,
  }),
  lookAtAccountLink: ok({
    method: 'POST',
    path: `${v1}/account-links/look`,
    noun: 'session',
    summary: 'Whose invitation or reset this is',
    access: 'public',
    body: sessions.accountLinkRequestSchema,
    response: sessions.accountLinkSchema,
  }),
  useAccountLink: ok({
    method: 'POST',
    path: `${v1}/account-links/use`,
    noun: 'session',
    summary: 'Choose a password by a link from a mail, once; ends every session',
    access: 'public',
    body: sessions.useAccountLinkRequestSchema,
    response: doneSchema,
  }),
} satisfies Record<string, Route>
