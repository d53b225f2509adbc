import { Controller, Inject } from '@nestjs/common'
import { Database, findPersonByEmail } from '@tapewarden/persistence'
import { AppError, type Clock } from '@tapewarden/platform'
import type { RouteResult, Routes } from '@tapewarden/shared'
import { Asked, type Call, nobodyOf, type Who } from '../http/call.js'
import { clearSessionCookie, setSessionCookie } from '../http/cookie.js'
import { Operation } from '../http/operation.js'
import { CLOCK, SETTINGS } from '../use/tokens.js'
import { Work } from '../use/work.js'
import { passwordFits } from './passwords.js'
import { changePassword, endSession, listSessions, me, openSession, organisation, patchMe } from './session-use-cases.js'
import { Throttle } from './throttle.js'

const FIVE_MINUTES_MS = 300_000

@Controller()
export class SessionsController {
  private readonly perAccount = new Throttle(8, FIVE_MINUTES_MS)
  private readonly perAddress = new Throttle(60, FIVE_MINUTES_MS)

  constructor(
    private readonly work: Work,
    private readonly database: Database,
    @Inject(CLOCK) private readonly clock: Clock,
    @Inject(SETTINGS) private readonly settings: { secureCookies: boolean },
  ) {}

  @Operation('signIn')
  async signIn(@Asked() call: Call<'signIn'>): Promise<RouteResult<Routes['signIn']>> {
    const { email, password } = call.body
    const now = await this.clock.now()
    const account = `${call.request.ip} ${email.toLowerCase()}`
    // By the process's own time: a shifted clock must not shift the patience.
    this.perAddress.take(call.request.ip, performance.now())
    this.perAccount.take(account, performance.now())
    const found = await findPersonByEmail(this.database.pool, email)
    const fits = await passwordFits(found?.passwordHash ?? null, password)
    if (!found || !fits || found.disabled) throw new AppError('forbidden', 'SIGN_IN_REFUSED', 'Address or password is not right.')
    this.perAccount.forgive(account)
    const who = { ...nobodyOf(found.organisationId), personId: found.personId }
    const known = await this.work.read({ who, now, requestId: call.requestId }, me)
    const signedIn: Who = { ...who, name: known.person.name, role: known.person.role }
    const userAgent = call.request.headers['user-agent'] ?? ''
    const token = await this.work.change({ who: signedIn, now, requestId: call.requestId }, (changing) => openSession(changing, userAgent))
    setSessionCookie(call.reply, token, this.settings.secureCookies)
    return this.work.read({ who: await this.limited(signedIn), now, requestId: call.requestId }, me)
  }

  /** The answer names only the warehouses that this person may see. */
  private async limited(who: Who): Promise<Who> {
    if (who.role === 'administrator' || who.role === 'manager') return who
    const rows = await this.database.withOrganisationSql(who.organisationId, (scope) =>
      scope.rows<{ id: string }>(`SELECT warehouse_id AS id FROM person_warehouse WHERE organisation_id = $1 AND person_id = $2`, [
        who.organisationId,
        who.personId,
      ]),
    )
    return { ...who, warehouseIds: rows.map((row) => row.id) }
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
