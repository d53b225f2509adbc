/** Word to other programs. */
import { doneSchema, listOf, pageOf } from '../common.js'
import type { Route } from '../route-kinds.js'
import * as webhooks from '../webhooks.js'
import { administrator, created, desk, ok, v1 } from './base.js'

export const webhooksRoutes = {
  listWebhooks: ok({
    method: 'GET',
    path: `${v1}/webhooks`,
    noun: 'webhooks',
    summary: 'Programs that are told, of what, and whether it arrives',
    access: desk,
    response: listOf(webhooks.webhookSchema),
  }),
  createWebhook: created({
    method: 'POST',
    path: `${v1}/webhooks`,
    noun: 'webhooks',
    summary: 'Tell another program; its secret is shown once',
    access: administrator,
    body: webhooks.createWebhookRequestSchema,
    response: webhooks.createdWebhookSchema,
    answerHeldBack: true,
  }),
  patchWebhook: ok({
    method: 'PATCH',
    path: `${v1}/webhooks/:webhookId`,
    noun: 'webhooks',
    summary: 'Change it, turn it off or on again',
    access: administrator,
    params: webhooks.webhookParamsSchema,
    body: webhooks.patchWebhookRequestSchema,
    response: webhooks.webhookSchema,
  }),
  removeWebhook: ok({
    method: 'DELETE',
    path: `${v1}/webhooks/:webhookId`,
    noun: 'webhooks',
    summary: 'Tell it nothing more, and forget what it was told',
    access: administrator,
    params: webhooks.webhookParamsSchema,
    response: doneSchema,
  }),
  renewWebhookSecret: ok({
    method: 'POST',
    path: `${v1}/webhooks/:webhookId/secret`,
    noun: 'webhooks',
    summary: 'A new secret, shown once; the earlier one signs nothing more',
    access: administrator,
    params: webhooks.webhookParamsSchema,
    response: webhooks.createdWebhookSchema,
    answerHeldBack: true,
  }),
  tryWebhook: created({
    method: 'POST',
    path: `${v1}/webhooks/:webhookId/trials`,
    noun: 'webhooks',
    summary: 'Send a trial',
    access: desk,
    params: webhooks.webhookParamsSchema,
    response: webhooks.webhookDeliverySchema,
  }),
  listWebhookDeliveries: ok({
    method: 'GET',
    path: `${v1}/webhooks/:webhookId/deliveries`,
    noun: 'webhooks',
    summary: 'What it was told in the last thirty days, newest first',
    access: desk,
    params: webhooks.webhookParamsSchema,
    query: webhooks.listWebhookDeliveriesQuerySchema,
    response: pageOf(webhooks.webhookDeliverySchema),
  }),
  sendWebhookAgain: ok({
    method: 'POST',
    path: `${v1}/webhooks/:webhookId/deliveries/:deliveryId/again`,
    noun: 'webhooks',
    summary: 'Send one again, under the same id',
    access: desk,
    params: webhooks.webhookDeliveryParamsSchema,
    response: webhooks.webhookDeliverySchema,
  }),
} satisfies Record<string, Route>
