import { Controller, Inject } from '@nestjs/common'
import { InvalidError, roundLinkUrl, signRoundLink } from '@tapewarden/platform'
import { localToInstant } from '@tapewarden/scheduling'
import type { RouteBody, Routes } from '@tapewarden/shared'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { addDays } from '../use/local-day.js'
import { SETTINGS } from '../use/tokens.js'
import { type Changing, Work } from '../use/work.js'
import { acknowledge, answerRound, undoAnswer } from './answer.js'
import { getRound, monthOf, roundWarehouse } from './round.js'

type LinkCall = Call<'getLinkedRound'>

/** A mail link names one warehouse and one month; the access guard has read both from it. */
function linked({ who }: Pick<LinkCall, 'who'>): { warehouseId: string; month: string } {
  return { warehouseId: who.warehouseIds?.[0] ?? '', month: who.roundMonth ?? '' }
}

@Controller()
export class RoundsController {
  constructor(
    private readonly work: Work,
    @Inject(SETTINGS) private readonly settings: { secretKey: string; publicUrl: string },
  ) {}

  @Operation('getRound')
  get(@Asked() call: Call<'getRound'>) {
    return this.work.read(call, (reading) => getRound(reading, call.query.warehouseId, call.query.month))
  }

  @Operation('acknowledgeRound')
  acknowledge(@Asked() call: Call<'acknowledgeRound'>) {
    return this.work.change(call, async (changing) => {
      await acknowledge(changing, call.body.warehouseId, call.body.month)
      return getRound(changing, call.body.warehouseId, call.body.month)
    })
  }

  @Operation('answerRound')
  answer(@Asked() call: Call<'answerRound'>) {
    return this.work.change(call, (changing) => answerRound(changing, call.body.warehouseId, call.body.month, call.body, 'round'))
  }

  @Operation('undoRoundAnswer')
  undo(@Asked() call: Call<'undoRoundAnswer'>) {
    return this.work.change(call, (changing) => undoAnswer(changing, call.params.entryId))
  }

  @Operation('createRoundLink')
  createLink(@Asked() call: Call<'createRoundLink'>) {
    return this.work.change(call, (changing) => this.makeLink(changing, call.body))
  }

  /** Good until the end of the month, there. */
  private async makeLink(changing: Changing, body: RouteBody<Routes['createRoundLink']>) {
    const { zone } = await roundWarehouse(changing, body.warehouseId)
    const person = await changing.maybeOne(`SELECT id FROM person WHERE organisation_id = $1 AND id = $2 AND disabled_at IS NULL`, [
      body.personId,
    ])
    if (!person) throw new InvalidError('UNKNOWN_PERSON', 'There is no such person here.', '/personId')
    const expiresAt = new Date(localToInstant(zone, `${addDays(monthOf(body.month).last, 1)}T00:00`))
    if (expiresAt <= changing.now) throw new InvalidError('MONTH_IS_OVER', 'This month is over.', '/month')
    const link = {
      organisationId: changing.organisationId,
      warehouseId: body.warehouseId,
      personId: body.personId,
      month: body.month,
      expiresAt,
    }
    changing.note({
      action: 'make round link',
      subjectKind: 'person',
      subjectId: body.personId,
      after: { warehouseId: body.warehouseId, month: body.month },
    })
    return { url: roundLinkUrl(this.settings.publicUrl, signRoundLink(this.settings.secretKey, link)), expiresAt: expiresAt.toISOString() }
  }

  @Operation('getLinkedRound')
  getLinked(@Asked() call: LinkCall) {
    const { warehouseId, month } = linked(call)
    return this.work.read(call, (reading) => getRound(reading, warehouseId, month))
  }

  @Operation('acknowledgeLinkedRound')
  acknowledgeLinked(@Asked() call: Call<'acknowledgeLinkedRound'>) {
    const { warehouseId, month } = linked(call)
    return this.work.change(call, async (changing) => {
      await acknowledge(changing, warehouseId, month)
      return getRound(changing, warehouseId, month)
    })
  }

  @Operation('answerLinkedRound')
  answerLinked(@Asked() call: Call<'answerLinkedRound'>) {
    const { warehouseId, month } = linked(call)
    return this.work.change(call, (changing) => answerRound(changing, warehouseId, month, call.body, 'mail_link'))
  }

  @Operation('undoLinkedRoundAnswer')
  undoLinked(@Asked() call: Call<'undoLinkedRoundAnswer'>) {
    return this.work.change(call, (changing) => undoAnswer(changing, call.params.entryId))
  }
}
