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
import { Throttle } from './throttle.js'

const FIVE_MINUTES_MS = 300_000

@Controller()
export class SessionsController {
  private readonly perAccount = new Throttle(8, FIVE_MINUTES_MS)
  private readonly perAddress = new Throttle(60, FIVE_MINUTES_MS)

  constructor(
    private readonly work: Work,
    private readonly database: Database,
    private readonly signIns: SignIns,
    @Inject(CLOCK) private readonly clock: Clock,
    @Inject(SETTINGS) private readonly settings: { secureCookies: boolean; secretKey: string },
  ) {}

  @Operation('signIn')
  async signIn(@Asked() call: Call<'signIn'>): Promise<RouteResult<Routes['signIn']>> {
    const { email, password, code } = call.body
    const account = `${call.request.ip} ${email.toLowerCase()}`
    // By the process's own time: a shifted clock must not shift the patience.
    this.perAddress.take(call.request.ip, performance.now())
    this.perAccount.take(account, performance.now())
    const found = await findPersonByEmail(this.database.pool, email)
    const fits = await passwordFits(found?.passwordHash ?? null, password)
    if (!found || !fits || found.disabled) throw new AppError('forbidden', 'SIGN_IN_REFUSED', 'Address or password is not right.')
    const entering = { ...call, now: await this.clock.now() }
    const asked = await this.work.change(this.signIns.asking(entering, found), (changing) =>
      askSecondFactor(changing, this.settings.secretKey, found.personId, code),
    )
    const by = byWhat(asked)
    this.perAccount.forgive(account)
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
