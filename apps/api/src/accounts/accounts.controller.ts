import { Controller, Inject } from '@nestjs/common'
import { Database, findPersonByEmail } from '@tapewarden/persistence'
import { AppError } from '@tapewarden/platform'
import type { RouteResult, Routes } from '@tapewarden/shared'
import { Asked, type Call, nobodyOf } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Throttle } from '../sessions/throttle.js'
import { SETTINGS } from '../use/tokens.js'
import { type Asking, Work } from '../use/work.js'
import { invitePerson, linkOf, openLink, sendReset, takeLink } from './account-links.js'

const HOUR_MS = 3_600_000

@Controller()
export class AccountsController {
  private readonly perAddress = new Throttle(30, HOUR_MS)
  /** Nobody's mailbox is filled by a stranger, and nobody learns from an answer whose address is known here. */
  private readonly perAccount = new Throttle(3, HOUR_MS)

  constructor(
    private readonly work: Work,
    private readonly database: Database,
    @Inject(SETTINGS) private readonly settings: { secretKey: string },
  ) {}

  @Operation('invitePerson')
  invite(@Asked() call: Call<'invitePerson'>) {
    return this.work.change(call, (changing) => invitePerson(changing, call.params.personId))
  }

  @Operation('askForReset')
  ask(@Asked() call: Call<'askForReset'>): { done: true } {
    this.perAddress.take(call.request.ip, performance.now())
    // Not waited for: the time of the answer must not tell whether the address is known.
    void this.reset(call).catch((error: unknown) => call.request.log.error({ err: error }, 'a reset was not sent'))
    return { done: true }
  }

  private async reset(call: Call<'askForReset'>): Promise<void> {
    const found = await findPersonByEmail(this.database.pool, call.body.email)
    if (!found || found.disabled || !this.mayAsk(found.personId)) return
    await this.work.change(this.asking(call, found.organisationId, found.personId), sendReset)
  }

  private mayAsk(personId: string): boolean {
    try {
      this.perAccount.take(personId, performance.now())
      return true
    } catch (error) {
      if (error instanceof AppError) return false
      throw error
    }
  }

  /** The one who acts is the person whose link it is. */
  private asking(call: Call<'askForReset' | 'useAccountLink' | 'lookAtAccountLink'>, organisationId: string, personId: string): Asking {
    return { who: { ...nobodyOf(organisationId), personId, name: 'by mail' }, now: call.now, requestId: call.requestId }
  }

  @Operation('lookAtAccountLink')
  async look(@Asked() call: Call<'lookAtAccountLink'>): Promise<RouteResult<Routes['lookAtAccountLink']>> {
    const { organisationId, linkId } = linkOf(this.settings.secretKey, call.body.token)
    return this.work.read(this.asking(call, organisationId, ''), (reading) => openLink(reading, linkId))
  }

  @Operation('useAccountLink')
  async use(@Asked() call: Call<'useAccountLink'>) {
    const { organisationId, linkId } = linkOf(this.settings.secretKey, call.body.token)
    const link = await this.work.read(this.asking(call, organisationId, ''), (reading) => openLink(reading, linkId))
    const asking = this.asking(call, organisationId, link.personId)
    return this.work.change({ ...asking, who: { ...asking.who, name: link.personName } }, (changing) =>
      takeLink(changing, linkId, call.body.newPassword),
    )
  }
}
