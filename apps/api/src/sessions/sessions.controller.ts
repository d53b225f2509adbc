import { Controller, Inject } from '@nestjs/common'
import { Database, findPersonByEmail } from '@tapewarden/persistence'
import { AppError, type Clock } from '@tapewarden/platform'
import type { RouteResult, Routes } from '@tapewarden/shared'
import { askSecondFactor, byWhat } from '../factors/check-code.js'
import { Asked, type Call } from '../http/call.js'
import { clearSessionCookie } from '../http/cookie.js'
import { Operation } from '../http/operation.js'
import { CLOCK, SETTINGS } from '../use/tokens.js'
import { Work } from '../use/work.js'
import { passwordFits } from './passwords.js'
import { changePassword, endSession, listSessions, me, organisation, patchMe } from './session-use-cases.js'
import { SignIns } from './sign-ins.js'
import { type Limit, Tries } from './tries.js'

const BY_ACCOUNT: Limit = { name: 'sign-in by address and account', most: 8, windowSeconds: 300 }
const BY_ADDRESS: Limit = { name: 'sign-in by address', most: 60, windowSeconds: 300 }

@Controller()
export class SessionsController {
  constructor(
    private readonly work: Work,
    private readonly database: Database,
    private readonly signIns: SignIns,
    private readonly tries: Tries,
    @Inject(CLOCK) private readonly clock: Clock,
    @Inject(SETTINGS) private readonly settings: { secureCookies: boolean; secretKey: string },
  ) {}

  @Operation('signIn')
  async signIn(@Asked() call: Call<'signIn'>): Promise<RouteResult<Routes['signIn']>> {
    const { email, password, code } = call.body
    // With the address: a stranger's tries do not lock the person out elsewhere.
    const account = { limit: BY_ACCOUNT, by: `${call.request.ip} ${email.toLowerCase()}` }
    const address = { limit: BY_ADDRESS, by: call.request.ip }
    await this.tries.take(address, account)
    const found = await findPersonByEmail(this.database.pool, email)
    const fits = await passwordFits(found?.passwordHash ?? null, password)
    if (!found || !fits || found.disabled) throw new AppError('forbidden', 'SIGN_IN_REFUSED', 'Address or password is not right.')
    const entering = { ...call, now: await this.clock.now() }
    const asked = await this.work.change(this.signIns.asking(entering, found), (changing) =>
      askSecondFactor(changing, this.settings.secretKey, found.personId, code),
    )
    const by = byWhat(asked)
    await this.tries.forgive(account)
    await this.tries.giveBack(address)
    return this.signIns.open(entering, found, by)
  }

  @Operation('signOut')
  async signOut(@Asked() call: Call<'signOut'>) {
    await this.work.change(call, (changing) => endSession(changing, call.who.sessionId ?? ''))
    clearSessionCookie(call.reply, this.settings.secureCookies)
    return { done: true as const }
  }

  @Operation('listSessions')
  listSessions(@Asked() call: Call<'listSessions'>) {
    return this.work.read(call, listSessions)
  }

  @Operation('endSession')
  endSession(@Asked() call: Call<'endSession'>) {
    return this.work.change(call, (changing) => endSession(changing, call.params.sessionId))
  }

  @Operation('me')
  me(@Asked() call: Call<'me'>) {
    return this.work.read(call, me)
  }

  @Operation('patchMe')
  patchMe(@Asked() call: Call<'patchMe'>) {
    return this.work.change(call, (changing) => patchMe(changing, call.body))
  }

  @Operation('changePassword')
  changePassword(@Asked() call: Call<'changePassword'>) {
    return this.work.change(call, (changing) => changePassword(changing, call.body))
  }

  @Operation('organisation')
  organisation(@Asked() call: Call<'organisation'>) {
    return this.work.read(call, organisation)
  }
}
