import { Controller } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { listMessages, listReminders } from './messages.js'

@Controller()
export class MessagesController {
  constructor(private readonly work: Work) {}

  @Operation('listMessages')
  messages(@Asked() call: Call<'listMessages'>) {
    return this.work.read(call, (reading) => listMessages(reading, call.query))
  }

  @Operation('listReminders')
  reminders(@Asked() call: Call<'listReminders'>) {
    return this.work.read(call, (reading) => listReminders(reading, call.query))
  }
}
