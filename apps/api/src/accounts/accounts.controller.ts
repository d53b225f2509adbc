import { Controller, Inject } from '@nestjs/common'
import { Database, findPersonByEmail } from '@tapewarden/persistence'
import { AppError } from '@tapewarden/platform'
import type { RouteResult, Routes } from '@tapewarden/shared'
import { Asked, type Call, nobodyOf } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { type Limit, Tries } from '../sessions/tries.js'
import { SETTINGS } from '../use/tokens.js'
import { type Asking, Work } from '../use/work.js'
import { invitePerson, linkOf, openLink, sendReset, takeLink } from './account-links.js'

const BY_ADDRESS: Limit = { name: 'reset by address', most: 30, windowSeconds: 3600 }
/** Nobody's mailbox is filled by a stranger, and nobody learns from an answer whose address is known here. */
const BY_PERSON: Limit = { name: 'reset by person', most: 3, windowSeconds: 3600 }

@Controller()
export class AccountsController {
  constructor(
    private readonly work: Work,
    private readonly database: Database,
    private readonly tries: Tries,
    @Inject(SETTINGS) private readonly settings: { secretKey: string },
  ) {}

  @Operation('invitePerson')
  invite(@Asked() call: Call<'invitePerson'>) {
    return this.work.change(call, (changing) => invitePerson(changing, call.params.personId))
  }

  @Operation('askForReset')
  async ask(@Asked() call: Call<'askForReset'>): Promise<{ done: true }> {
    await this.tries.take({ limit: BY_ADDRESS, by: call.request.ip })
    // Not waited for: the time of the answer must not tell whether the address is known.
    void this.reset(call).catch((error: unknown) => call.request.log.error({ err: error }, 'a reset was not sent'))
    return { done: true }
  }

  private async reset(call: Call<'askForReset'>): Promise<void> {
    const found = await findPersonByEmail(this.database.pool, call.body.email)
    if (!found || found.disabled || !(await this.mayAsk(found.personId))) return
    await this.work.change(this.asking(call, found.organisationId, found.personId), sendReset)
  }

  private async mayAsk(personId: string): Promise<boolean> {
    try {
      await this.tries.take({ limit: BY_PERSON, by: personId })
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
