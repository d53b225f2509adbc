import { Controller, Inject } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { SETTINGS } from '../use/tokens.js'
import { Work } from '../use/work.js'
import {
  createWebhook,
  listDeliveries,
  listWebhooks,
  patchWebhook,
  removeWebhook,
  renewWebhookSecret,
  sendAgain,
  tryWebhook,
} from './webhooks.js'

@Controller()
export class WebhooksController {
  constructor(
    private readonly work: Work,
    @Inject(SETTINGS) private readonly settings: { secretKey: string },
  ) {}

  @Operation('listWebhooks')
  list(@Asked() call: Call<'listWebhooks'>) {
    return this.work.read(call, listWebhooks)
  }

  @Operation('createWebhook')
  create(@Asked() call: Call<'createWebhook'>) {
    return this.work.change(call, (changing) => createWebhook(changing, this.settings.secretKey, call.body))
  }

  @Operation('patchWebhook')
  patch(@Asked() call: Call<'patchWebhook'>) {
    return this.work.change(call, (changing) => patchWebhook(changing, call.params.webhookId, call.body))
  }

  @Operation('removeWebhook')
  remove(@Asked() call: Call<'removeWebhook'>) {
    return this.work.change(call, (changing) => removeWebhook(changing, call.params.webhookId))
  }

  @Operation('renewWebhookSecret')
  renew(@Asked() call: Call<'renewWebhookSecret'>) {
    return this.work.change(call, (changing) => renewWebhookSecret(changing, this.settings.secretKey, call.params.webhookId))
  }

  @Operation('listWebhookDeliveries')
  deliveries(@Asked() call: Call<'listWebhookDeliveries'>) {
    return this.work.read(call, (reading) => listDeliveries(reading, call.params.webhookId, call.query))
  }

  @Operation('sendWebhookAgain')
  again(@Asked() call: Call<'sendWebhookAgain'>) {
    return this.work.change(call, (changing) => sendAgain(changing, call.params.webhookId, call.params.deliveryId))
  }

  @Operation('tryWebhook')
  try(@Asked() call: Call<'tryWebhook'>) {
    return this.work.change(call, (changing) => tryWebhook(changing, call.params.webhookId))
  }
}
