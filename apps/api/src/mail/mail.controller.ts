import { Controller, Inject } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { SETTINGS } from '../use/tokens.js'
import { Work } from '../use/work.js'
import { listBounces } from './bounces.js'
import { createCalendarFeed, listCalendarFeeds, revokeCalendarFeed } from './calendar-feeds.js'
import { mailPreferences, patchMailPreferences } from './preferences.js'

@Controller()
export class MailController {
  constructor(
    private readonly work: Work,
    @Inject(SETTINGS) private readonly settings: { publicUrl: string },
  ) {}

  @Operation('getMyMail')
  mine(@Asked() call: Call<'getMyMail'>) {
    return this.work.read(call, (reading) => mailPreferences(reading, call.who.personId))
  }

  @Operation('patchMyMail')
  patchMine(@Asked() call: Call<'patchMyMail'>) {
    return this.work.change(call, (changing) => patchMailPreferences(changing, call.who.personId, call.body))
  }

  @Operation('getPersonMail')
  ofPerson(@Asked() call: Call<'getPersonMail'>) {
    return this.work.read(call, (reading) => mailPreferences(reading, call.params.personId))
  }

  @Operation('patchPersonMail')
  patchOfPerson(@Asked() call: Call<'patchPersonMail'>) {
    return this.work.change(call, (changing) => patchMailPreferences(changing, call.params.personId, call.body))
  }

  @Operation('listBounces')
  bounces(@Asked() call: Call<'listBounces'>) {
    return this.work.read(call, (reading) => listBounces(reading, call.query))
  }

  @Operation('listCalendarFeeds')
  feeds(@Asked() call: Call<'listCalendarFeeds'>) {
    return this.work.read(call, listCalendarFeeds)
  }

  @Operation('createCalendarFeed')
  createFeed(@Asked() call: Call<'createCalendarFeed'>) {
    return this.work.change(call, (changing) => createCalendarFeed(changing, call.body.warehouseId, this.settings.publicUrl))
  }

  @Operation('revokeCalendarFeed')
  revokeFeed(@Asked() call: Call<'revokeCalendarFeed'>) {
    return this.work.change(call, (changing) => revokeCalendarFeed(changing, call.params.feedId))
  }
}
